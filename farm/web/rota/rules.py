"""Beginning, changing and ending the rota."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from farm.errors import NotFound
from farm.models.member import Role
from farm.queries import rota as reads
from farm.services import rota
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.forms import FarmForm, VersionedForm
from farm.web.mishaps import shown_in


class RulesForm(FarmForm):
    """How the work is shared."""

    weeks = forms.IntegerField(
        label=gettext_lazy("Weeks ahead"),
        min_value=1,
        max_value=8,
        initial=4,
        help_text=gettext_lazy("So far chores are given out."),
    )
    fair_days = forms.IntegerField(
        label=gettext_lazy("Days over which shares are evened out"),
        min_value=14,
        max_value=182,
        initial=42,
        help_text=gettext_lazy("What was really done in the days just past counts with what is planned."),
    )
    missed_after = forms.IntegerField(
        label=gettext_lazy("Minutes until a missed chore is passed on"),
        min_value=15,
        max_value=600,
        initial=90,
        help_text=gettext_lazy("Only for what birds need the same day, and for those who want reminders."),
    )


class RulesChangeForm(RulesForm, VersionedForm):
    """The same, of a rota that runs."""


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def start(request: FarmRequest) -> HttpResponse:
    """Begin the rota and work out the first one at once, so that there is something to see."""
    form = RulesForm(request.POST if request.method == "POST" else None, farm=request.visit.farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            rota.start(request.visit.by, **form.values())
        if form.is_valid():
            rota.refresh(farm_id=request.visit.farm.pk, now=request.visit.by.now)
            messages.success(request, _("The work is shared out. Change what does not suit."))
            return redirect("people")
    return render(request, "web/rota/rules.html", {"form": form})


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def change(request: FarmRequest) -> HttpResponse:
    """Change the rules of the rota."""
    rules = reads.rules(request.visit.farm)
    if rules is None:
        raise NotFound(_("This farm has no rota."))
    if request.method == "POST":
        form = RulesChangeForm(request.POST, farm=request.visit.farm)
        if form.is_valid():
            with shown_in(form):
                rota.change_rules(request.visit.by, expected_version=form.seen_version, **form.values())
            if form.is_valid():
                messages.success(request, _("Saved. The rota is being worked out anew."))
                return redirect("people")
    else:
        stored = {name: getattr(rules, name) for name in RulesForm.base_fields} | {"version": rules.version}
        form = RulesChangeForm(initial=stored, farm=request.visit.farm)
    return render(request, "web/rota/rules.html", {"form": form, "rules": rules})


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def stop(request: FarmRequest) -> HttpResponse:
    """Ask first, then end the rota."""
    form, done = ask_first(request, lambda: rota.stop(request.visit.by))
    if done:
        messages.success(request, _("The rota has ended. Everybody sees all they may do."))
        return redirect("people")
    return render(request, "web/rota/stop.html", {"form": form})
