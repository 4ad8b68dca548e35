"""Setting eggs, changing and cancelling a set, and recording what candling and the hatch showed."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from farm.models import EggSet, Housing, Machine
from farm.models.egg_set import EggSetState
from farm.models.member import Role
from farm.queries import hatching, lookup
from farm.services import egg_entries, egg_sets, hatches
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.hatching import fields, set_forms
from farm.web.hatching.looking import preview
from farm.web.hatching.set_forms import CandleForm, EggSetEditForm, EggSetForm, HatchForm
from farm.web.mishaps import shown_in

_BOTH = ["GET", "POST"]


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Set eggs, or look first at what they would come to: `look` in what is posted."""
    farm, today = request.visit.farm, request.visit.by.today
    posted = request.method == "POST"
    start = set_forms.opening(farm, today) | _asked(request)
    form = EggSetForm(request.POST if posted else None, initial=start, farm=farm)
    if posted and "look" not in request.POST and form.is_valid():
        with shown_in(form):
            egg_set = egg_sets.set_eggs(request.visit.by, new=form.new())
        if form.is_valid():
            messages.success(request, _("%(set)s is on the timeline.") % {"set": egg_set})
            return redirect("egg-set", egg_set.pk)
    context = {
        "form": form,
        "preview": preview(farm, request.POST if posted else start),
        "any_machine": Machine.objects.filter(farm=farm, does__in=fields.SETS).exists(),
        "any_housing": Housing.objects.filter(farm=farm).exists(),
    }
    return render(request, "web/hatching/new.html", context)


@require_POST
@farm_page(Role.KEEPER)
def look(request: FarmRequest) -> HttpResponse:
    """Return what the typed eggs would come to, for the form that is open."""
    found = preview(request.visit.farm, request.POST)
    return render(request, "web/hatching/preview.html", {"preview": found})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change an egg set."""
    egg_set = lookup.get(EggSet, farm_id=request.visit.farm.pk, pk=pk)
    form = EggSetEditForm(
        request.POST if request.method == "POST" else None,
        initial=EggSetEditForm.stored(egg_set),
        farm=request.visit.farm,
        egg_set=egg_set,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            egg_sets.change(
                request.visit.by, egg_set_id=pk, expected_version=form.seen_version, **form.changes()
            )
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("egg-set", pk)
    return render(request, "web/hatching/edit.html", {"form": form, "egg_set": egg_set})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def cancel(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then cancel an egg set."""
    egg_set = lookup.get(EggSet, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: egg_sets.cancel(request.visit.by, egg_set_id=pk))
    if done:
        messages.success(request, _("%(set)s is cancelled.") % {"set": egg_set})
        return redirect("hatching")
    return render(request, "web/hatching/cancel.html", {"form": form, "egg_set": egg_set})


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def candle(request: FarmRequest, pk: int) -> HttpResponse:
    """Record what candling showed."""
    visit = request.visit
    egg_set = lookup.get(EggSet, farm_id=visit.farm.pk, pk=pk)
    form = CandleForm(
        request.POST if request.method == "POST" else None,
        initial=CandleForm.opening(visit.by.today),
        farm=visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        with shown_in(form):
            egg_entries.record(
                visit.by,
                egg_set_id=pk,
                counts=form.counts,
                day=typed["day"],
                client_key=typed["client_key"],
            )
        if form.is_valid():
            row = hatching.row(egg_set, visit.by.today)
            text = ngettext("Noted. %(n)d egg is left in.", "Noted. %(n)d eggs are left in.", row.left)
            messages.success(request, text % {"n": row.left})
            return redirect("egg-set", pk)
    context = {"form": form, "egg_set": egg_set, "row": hatching.row(egg_set, visit.by.today)}
    return render(request, "web/hatching/candle.html", context)


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def hatch(request: FarmRequest, pk: int) -> HttpResponse:
    """Record the hatch in one press: the chicks are a batch from then on."""
    visit = request.visit
    egg_set = lookup.get(EggSet, farm_id=visit.farm.pk, pk=pk)
    if request.method == "GET" and egg_set.state != EggSetState.OPEN:
        return redirect("egg-set", pk)
    row = hatching.row(egg_set, visit.by.today)
    start = {"day": min(visit.by.today, row.dates.hatch_last), "version": egg_set.version}
    form = HatchForm(request.POST if request.method == "POST" else None, initial=start, farm=visit.farm)
    if request.method == "POST" and form.is_valid():
        batch = None
        with shown_in(form):
            batch = hatches.record(visit.by, egg_set_id=pk, expected_version=form.seen_version, **form.found)
        if form.is_valid():
            if batch is None:
                messages.success(request, _("Noted: nothing hatched of %(set)s.") % {"set": egg_set})
                return redirect("egg-set", pk)
            text = ngettext(
                "%(batch)s is here: %(n)d chick hatched.", "%(batch)s is here: %(n)d chicks hatched.",
                form.found["hatched"],
            )  # fmt: skip
            messages.success(request, text % {"batch": batch, "n": form.found["hatched"]})
            return redirect("batch", batch.pk)
    context = {"form": form, "egg_set": egg_set, "row": row, "today": visit.by.today}
    return render(request, "web/hatching/hatch.html", context)


def _asked(request: FarmRequest) -> dict[str, str]:
    """Return what an address asks a new set to start with: `?machine=3&set_on=2026-05-09&programme=duck`."""
    names = {"machine": "setter_id", "set_on": "set_on", "programme": "programme"}
    return {names[name]: value for name, value in request.GET.dict().items() if name in names}
