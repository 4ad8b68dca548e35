"""Birds of a batch kept out of orders: the part of the batch's page that is about orders, and its forms."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from farm.models import Batch, Farm, Hold, Order
from farm.models.member import Role
from farm.queries import allotments, lookup
from farm.queries import orders as read
from farm.services import holds
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.forms import VersionedForm
from farm.web.mishaps import shown_in
from farm.web.orders import fields

_BOTH = ["GET", "POST"]


class HoldForm(VersionedForm):
    """Birds to keep back."""

    birds = fields.birds()
    sex = fields.sex()
    reason = fields.words(
        gettext_lazy("What for"), 200, help_text=gettext_lazy("For example “for our own flock”.")
    )


@dataclass(frozen=True, slots=True)
class Promise:
    """Birds of the batch meant for an order, from a day on."""

    order: Order
    birds: int
    day: date


@dataclass(frozen=True, slots=True)
class Orders:
    """What orders take of a batch. spare: birds left over, expected; held: kept out of orders."""

    promises: tuple[Promise, ...]
    holds: tuple[Hold, ...]
    spare: int

    @property
    def promised(self) -> int:
        """Return the birds meant for orders."""
        return sum(one.birds for one in self.promises)

    @property
    def held(self) -> int:
        """Return the birds kept back."""
        return sum(one.birds for one in self.holds)


def of_batch(farm: Farm, batch: Batch, today: date) -> Orders:
    """Return what orders take of a batch, for its page."""
    found = allotments.for_farm(farm, today)
    shares = [share for share in found.allotment.shares if share.supply == str(batch.pk)]
    orders = read.by_line(int(share.wanted) for share in shares)
    over = found.spare(batch.pk)
    return Orders(
        promises=tuple(Promise(orders[int(share.wanted)], share.birds, share.day) for share in shares),
        holds=tuple(batch.holds.all()),
        spare=round(over.expected) if over else 0,
    )


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def new(request: FarmRequest, pk: int) -> HttpResponse:
    """Keep birds of a batch back."""
    batch = lookup.get(Batch, farm_id=request.visit.farm.pk, pk=pk)
    form = HoldForm(request.POST if request.method == "POST" else None, farm=request.visit.farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            hold = holds.add(request.visit.by, batch_id=pk, **form.values())
        if form.is_valid():
            messages.success(request, f"{holds.describe(hold)}.")
            return redirect("batch", pk)
    return render(request, "web/orders/hold.html", {"form": form, "batch": batch})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Keep more or fewer back."""
    hold = lookup.get(Hold, farm_id=request.visit.farm.pk, pk=pk)
    form = HoldForm(
        request.POST if request.method == "POST" else None,
        initial={name: getattr(hold, name) for name in HoldForm.base_fields},
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            holds.change(request.visit.by, hold_id=pk, expected_version=form.seen_version, **form.values())
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("batch", hold.batch_id)
    return render(request, "web/orders/hold.html", {"form": form, "batch": hold.batch, "hold": hold})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then let the birds go to orders again."""
    hold = lookup.get(Hold, farm_id=request.visit.farm.pk, pk=pk)
    batch_id, what = hold.batch_id, holds.describe(hold)
    form, done = ask_first(request, lambda: holds.remove(request.visit.by, hold_id=pk))
    if done:
        messages.success(request, _("These birds may go to orders again."))
        return redirect("batch", batch_id)
    return render(request, "web/orders/hold_remove.html", {"form": form, "hold": hold, "what": what})
