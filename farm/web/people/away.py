"""Days away of a member: the list, adding some after seeing what they change on the rota, taking them back."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from farm.models import Away, Member
from farm.queries import aways as reads
from farm.queries import lookup, rota
from farm.services import aways
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.mishaps import shown_in
from farm.web.people import preview
from farm.web.people.forms import AwayForm

_BOTH = ["GET", "POST"]


@require_http_methods(_BOTH)
@farm_page()
def days(request: FarmRequest, pk: int) -> HttpResponse:
    """List the days away still to come; add some, keepers for anybody, others for themselves.

    On a farm with a rota, what they change is shown before they are kept.
    """
    visit = request.visit
    member = aways.of(visit.by, pk)
    form = AwayForm(request.POST if request.method == "POST" else None, farm=visit.farm)
    if request.method == "POST" and form.is_valid():
        typed = form.values()
        keep = "keep" in request.POST or rota.rules(visit.farm) is None
        with shown_in(form):
            if keep:
                aways.add(visit.by, member_id=pk, **typed)
            else:
                aways.check(member, typed["start"], typed["end"], visit.by.today)
        if form.is_valid():
            return _kept(request, member, typed) if keep else _asked(request, form, member, typed)
    rows = [{"away": row, "days": aways.days(row)} for row in reads.of_member(pk, visit.by.today)]
    context = {"form": form, "member": member, "rows": rows, "rota": rota.rules(visit.farm) is not None}
    return render(request, "web/people/away.html", context)


@require_http_methods(_BOTH)
@farm_page()
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then take days away back."""
    visit = request.visit
    row = lookup.get(Away, farm_id=visit.farm.pk, pk=pk)
    member = aways.of(visit.by, row.member_id)
    form, done = ask_first(request, lambda: aways.remove(visit.by, away_id=pk))
    said = aways.days(row)
    if done:
        messages.success(request, _("%(member)s is not away: %(days)s.") % {"member": member, "days": said})
        return redirect("member-away", member.pk)
    context = {"form": form, "member": member, "away": row, "days": said}
    return render(request, "web/people/away_remove.html", context)


def _kept(request: FarmRequest, member: Member, typed: dict[str, Any]) -> HttpResponse:
    said = aways.days(Away(start=typed["start"], end=typed["end"]))
    messages.success(request, _("%(member)s is away: %(days)s.") % {"member": member, "days": said})
    return redirect("member-away", member.pk)


def _asked(request: FarmRequest, form: AwayForm, member: Member, typed: dict[str, Any]) -> HttpResponse:
    visit = request.visit
    found = preview.of(
        visit.farm, member, typed["start"], typed["end"], today=visit.by.today, now=visit.by.now
    )
    said = aways.days(Away(start=typed["start"], end=typed["end"]))
    context = {"form": form, "member": member, "days": said, "preview": found}
    return render(request, "web/people/away_preview.html", context)
