"""Planning, changing and removing stays, and moving birds."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from farm.models import Batch, Housing, Stay
from farm.models.member import Role
from farm.queries import lookup
from farm.services import stays
from farm.web.access import FarmRequest, farm_page
from farm.web.forms import FarmForm
from farm.web.mishaps import shown_in
from farm.web.stays.forms import MoveForm, StayForm, leaving, opening


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def new(request: FarmRequest, pk: int) -> HttpResponse:
    """Give part of a batch a housing for some days."""
    farm = request.visit.farm
    batch = lookup.get(Batch, farm_id=farm.pk, pk=pk)
    start = opening(batch, request.visit.by.today, request.GET.get("housing", ""))
    form = StayForm(request.POST if request.method == "POST" else None, initial=start, farm=farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            stay = stays.add(request.visit.by, batch_id=pk, **form.values())
        if form.is_valid():
            messages.success(request, stays.describe(stay))
            return redirect("batch", pk)
    return render(request, "web/stays/form.html", _context(form, batch))


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a stay."""
    farm = request.visit.farm
    stay = lookup.get(Stay, farm_id=farm.pk, pk=pk)
    form = StayForm(
        request.POST if request.method == "POST" else None, initial=StayForm.stored(stay), farm=farm
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            changed = stays.change(
                request.visit.by, stay_id=pk, expected_version=form.seen_version, **form.values()
            )
        if form.is_valid():
            messages.success(request, stays.describe(changed))
            return redirect("batch", stay.batch_id)
    return render(request, "web/stays/form.html", _context(form, stay.batch) | {"stay": stay})


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then take a stay out of the plan."""
    farm = request.visit.farm
    stay = lookup.get(Stay, farm_id=farm.pk, pk=pk)
    form = FarmForm(request.POST if request.method == "POST" else None, farm=farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            stays.remove(request.visit.by, stay_id=pk)
        if form.is_valid():
            messages.success(request, _("The stay is removed."))
            return redirect("batch", stay.batch_id)
    return render(request, "web/stays/remove.html", {"form": form, "stay": stay, "batch": stay.batch})


@require_http_methods(["GET", "POST"])
@farm_page(Role.HELPER)
def move(request: FarmRequest, pk: int) -> HttpResponse:
    """Move birds of a batch to another housing."""
    farm = request.visit.farm
    batch = lookup.get(Batch, farm_id=farm.pk, pk=pk)
    form = MoveForm(
        request.POST if request.method == "POST" else None,
        initial=leaving(batch, request.visit.by.today),
        farm=farm,
        batch=batch,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            stays.move(request.visit.by, batch_id=pk, **form.values())
        if form.is_valid():
            birds, to = form.cleaned_data["birds"], form.cleaned_data["to_id"]
            text = ngettext("%(n)d bird moved to %(place)s.", "%(n)d birds moved to %(place)s.", birds)
            place = lookup.get(Housing, farm_id=farm.pk, pk=to)
            messages.success(request, text % {"n": birds, "place": place})
            return redirect("batch", pk)
    return render(request, "web/stays/move.html", {"form": form, "batch": batch})


def _context(form: StayForm, batch: Batch) -> dict[str, object]:
    return {"form": form, "batch": batch, "any_housing": Housing.objects.filter(farm=form.farm).exists()}
