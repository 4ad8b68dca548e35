"""Days to wait after a medicine: entered, moved on, removed. Nothing here knows a medicine or its days."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from farm.models import Batch, Feed, WaitingTime
from farm.models.feed import Product
from farm.models.member import Role
from farm.queries import lookup
from farm.services import waits
from farm.trade.cautions import cautions
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.forms import DayField, VersionedForm
from farm.web.mishaps import shown_in

_BOTH = ["GET", "POST"]


class WaitForm(VersionedForm):
    """Days to wait, from the label or as the vet says."""

    what = forms.CharField(
        label=gettext_lazy("What was given"), max_length=100, help_text=gettext_lazy("As on the label.")
    )
    given_on = DayField(
        label=gettext_lazy("Last given on"),
        help_text=gettext_lazy("While they still get it: today. Move it on as long as you give it."),
    )
    days = forms.IntegerField(
        label=gettext_lazy("Days to wait"),
        min_value=0,
        max_value=waits.MOST_DAYS,
        help_text=gettext_lazy("From the label or your vet; nobody here knows them."),
    )
    product = forms.ChoiceField(label=gettext_lazy("Before"), choices=Product.choices)
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=200)

    @staticmethod
    def stored(wait: WaitingTime) -> dict[str, Any]:
        """Return a waiting time's values for its form."""
        return {name: getattr(wait, name) for name in WaitForm.base_fields}


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def new(request: FarmRequest, pk: int) -> HttpResponse:
    """Enter days to wait of a batch; `?feed=3` starts the form with what the keeper wrote of a medicated feed."""
    visit = request.visit
    batch = lookup.get(Batch, farm_id=visit.farm.pk, pk=pk)
    form = WaitForm(
        request.POST if request.method == "POST" else None, initial=_opening(request), farm=visit.farm
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            waits.add(visit.by, batch_id=pk, **form.values())
        if form.is_valid():
            messages.success(request, _("Days to wait of %(batch)s are kept.") % {"batch": batch})
            return redirect("batch", pk)
    return render(request, "web/feed/wait.html", _context(form, batch))


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change days to wait."""
    visit = request.visit
    wait = lookup.get(WaitingTime, farm_id=visit.farm.pk, pk=pk)
    form = WaitForm(
        request.POST if request.method == "POST" else None, initial=WaitForm.stored(wait), farm=visit.farm
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            waits.change(visit.by, wait_id=pk, expected_version=form.seen_version, **form.values())
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("batch", wait.batch_id)
    return render(request, "web/feed/wait.html", _context(form, wait.batch) | {"wait": wait})


@require_POST
@farm_page(Role.KEEPER)
def again(request: FarmRequest, pk: int) -> HttpResponse:
    """Say in one press that they got it today too."""
    visit = request.visit
    wait = lookup.get(WaitingTime, farm_id=visit.farm.pk, pk=pk)
    waits.change(visit.by, wait_id=pk, expected_version=None, given_on=visit.by.today)
    messages.success(request, _("%(what)s: last given today.") % {"what": wait.what})
    return redirect("batch", wait.batch_id)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove days to wait that were a mistake."""
    wait = lookup.get(WaitingTime, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: waits.remove(request.visit.by, wait_id=pk))
    if done:
        messages.success(request, _("Removed."))
        return redirect("batch", wait.batch_id)
    context = {"form": form, "wait": wait, "batch": wait.batch, "line": waits.line(wait)}
    return render(request, "web/feed/wait_remove.html", context)


def _opening(request: FarmRequest) -> dict[str, Any]:
    found: dict[str, Any] = {"given_on": request.visit.by.today, "product": Product.MEAT}
    feed = lookup.get_or_none(Feed, farm_id=request.visit.farm.pk, pk=request.GET.get("feed"))
    if feed is not None and feed.medicated:
        found |= {"what": feed.name, "days": feed.wait_days}
    return found


def _context(form: WaitForm, batch: Batch) -> dict[str, Any]:
    return {"form": form, "batch": batch, "cautions": [cautions()[key] for key in ("drugs", "medicated")]}
