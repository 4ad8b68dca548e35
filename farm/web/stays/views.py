"""Planning, changing and removing stays, and moving birds."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from farm.models import Batch, Housing, Stay
from farm.models.member import Role
from farm.queries import lookup
from farm.services import stays
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.mishaps import shown_in
from farm.web.stays import looking
from farm.web.stays.forms import MoveForm, StayForm, leaving, opening


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def new(request: FarmRequest, pk: int) -> HttpResponse:
    """Give part of a batch a housing for some days."""
    farm = request.visit.farm
    batch = lookup.get(Batch, farm_id=farm.pk, pk=pk)
    start = opening(batch, request.visit.by.today, request.GET.get("housing", ""))
    form = StayForm(request.POST if request.method == "POST" else None, initial=start, farm=farm)
    if "look" in request.POST:
        return render(request, "web/stays/form.html", _context(form, batch) | _seen_new(request, form, pk))
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            stay = stays.add(request.visit.by, batch_id=pk, **form.values())
        if form.is_valid():
            messages.success(request, stays.describe(stay))
            return redirect("batch", pk)
    return render(request, "web/stays/form.html", _context(form, batch))


@require_POST
@farm_page(Role.KEEPER)
def look_at_new(request: FarmRequest, pk: int) -> HttpResponse:
    """Show what giving a batch the place typed would do, without saving it."""
    lookup.get(Batch, farm_id=request.visit.farm.pk, pk=pk)
    form = StayForm(request.POST, farm=request.visit.farm)
    return render(request, "web/stays/preview.html", {"form": form} | _seen_new(request, form, pk))


def _seen_new(request: FarmRequest, form: StayForm, pk: int) -> dict[str, object]:
    def act() -> None:
        stays.add(request.visit.by, batch_id=pk, **form.values())

    return {"looked": True, "trial": looking.look(request, form, act)}


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a stay."""
    farm = request.visit.farm
    stay = lookup.get(Stay, farm_id=farm.pk, pk=pk)
    form = StayForm(
        request.POST if request.method == "POST" else None,
        initial=looking.dragged(stay, request),
        farm=farm,
    )
    if "look" in request.POST:
        seen = _seen_edit(request, form, pk)
        return render(request, "web/stays/form.html", _context(form, stay.batch) | seen | {"stay": stay})
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            changed = stays.change(
                request.visit.by, stay_id=pk, expected_version=form.seen_version, **form.values()
            )
        if form.is_valid():
            messages.success(request, stays.describe(changed))
            return redirect("batch", stay.batch_id)
    return render(request, "web/stays/form.html", _context(form, stay.batch) | {"stay": stay})


@require_POST
@farm_page(Role.KEEPER)
def look_at_edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Show what the change typed would do, without saving it."""
    lookup.get(Stay, farm_id=request.visit.farm.pk, pk=pk)
    form = StayForm(request.POST, farm=request.visit.farm)
    return render(request, "web/stays/preview.html", {"form": form} | _seen_edit(request, form, pk))


def _seen_edit(request: FarmRequest, form: StayForm, pk: int) -> dict[str, object]:
    def act() -> None:
        stays.change(request.visit.by, stay_id=pk, expected_version=form.seen_version, **form.values())

    return {"looked": True, "trial": looking.look(request, form, act)}


@require_POST
@farm_page(Role.KEEPER)
def pin(request: FarmRequest, pk: int) -> HttpResponse:
    """Pin a stay, so that no plan moves it, or let it go again: `pinned` is 1 or 0."""
    stay = lookup.get(Stay, farm_id=request.visit.farm.pk, pk=pk)
    pinned = request.POST.get("pinned") == "1"
    stays.change(request.visit.by, stay_id=pk, expected_version=None, pinned=pinned)
    text = (
        _("Pinned: no plan moves this stay.") if pinned else _("No longer pinned: plans may move this stay.")
    )
    messages.success(request, text)
    return redirect("batch", stay.batch_id)


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then take a stay out of the plan."""
    farm = request.visit.farm
    stay = lookup.get(Stay, farm_id=farm.pk, pk=pk)
    form, done = ask_first(request, lambda: stays.remove(request.visit.by, stay_id=pk))
    if done:
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
