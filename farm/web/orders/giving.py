"""Handing birds over for a line of an order, and taking that back."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods

from farm.models import Filling, OrderLine, WaitingTime
from farm.models.member import Role
from farm.models.order import OrderStatus
from farm.queries import lookup
from farm.queries import orders as read
from farm.queries.orders import Candidate
from farm.services import fillings
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.forms import DayField, FarmForm
from farm.web.mishaps import shown_in
from farm.web.orders import fields, wording
from farm.web.templatetags import farm_words

_BOTH = ["GET", "POST"]


class GiveForm(FarmForm):
    """Birds of a batch for a line. `client_key` makes a form sent twice one hand-over."""

    batch_id = forms.TypedChoiceField(
        label=gettext_lazy("From which batch"), coerce=int, widget=forms.RadioSelect
    )
    birds = fields.birds()
    day = DayField(label=gettext_lazy("Day"))
    anyway = forms.BooleanField(
        label=gettext_lazy("Give them anyway"),
        required=False,
        help_text=gettext_lazy("Also birds meant for orders that come first. Those may then be short."),
    )
    override_reason = forms.CharField(
        label=gettext_lazy("Reason, if they go before days to wait are over"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("Your reason is kept with the line of their ledger."),
    )
    client_key = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def __init__(
        self, *args: Any, line: OrderLine, batches: Sequence[Candidate], keeper: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["batch_id"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(str(one.batch.pk), described(one, line)) for one in batches]
        if not keeper or all(one.free >= one.alive for one in batches):
            del self.fields["anyway"]
        if not keeper or not WaitingTime.objects.filter(batch__in=[one.batch for one in batches]).exists():
            del self.fields["override_reason"]


def described(one: Candidate, line: OrderLine) -> str:
    """Return a batch to choose from: "Early browns: 18 free of 24, 5 weeks old (younger than ordered)"."""
    text = _("%(batch)s: %(free)d free of %(alive)d, %(age)s old") % {
        "batch": one.batch,
        "free": one.free,
        "alive": one.alive,
        "age": farm_words.age(one.batch.hatch_day, one.batch.hatch_day + timedelta(days=one.age_days)),
    }
    if one.age_days < line.age_from_days:
        return _("%(batch)s (younger than ordered)") % {"batch": text}
    if one.age_days > line.age_to_days:
        return _("%(batch)s (older than ordered)") % {"batch": text}
    return text


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def give(request: FarmRequest, pk: int) -> HttpResponse:
    """Hand birds over for a line."""
    visit = request.visit
    line = lookup.get(OrderLine, farm_id=visit.farm.pk, pk=pk)
    if request.method == "GET" and line.order.status != OrderStatus.CONFIRMED:
        messages.info(request, _("Birds are handed over for confirmed orders only."))
        return redirect("order", line.order_id)
    batches = read.candidates(line, visit.by.today)
    row = next(
        one for one in read.one(visit.farm, line.order_id, visit.by.today).lines if one.line.pk == line.pk
    )
    form = GiveForm(
        request.POST if request.method == "POST" else None,
        initial=_opening(batches, row.left) | {"day": visit.by.today},
        farm=visit.farm,
        line=line,
        batches=batches,
        keeper=visit.is_keeper,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            filling = fillings.hand_over(visit.by, line_id=pk, **form.values())
        if form.is_valid():
            messages.success(request, f"{fillings.describe(filling)}.")
            return redirect("order", line.order_id)
    context = {
        "form": form,
        "line": line,
        "row": row,
        "wants": wording.wants(line),
        "any_batch": bool(batches),
        "today": visit.by.today,
    }
    return render(request, "web/orders/give.html", context)


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def take_back(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then take a hand-over back."""
    filling = lookup.get(Filling, farm_id=request.visit.farm.pk, pk=pk)
    order_id, what = filling.line.order_id, fillings.describe(filling)
    form, done = ask_first(request, lambda: fillings.take_back(request.visit.by, filling_id=pk))
    if done:
        n = filling.birds
        text = ngettext("%(n)d bird is with %(batch)s again.", "%(n)d birds are with %(batch)s again.", n)
        messages.success(request, text % {"n": n, "batch": filling.batch})
        return redirect("order", order_id)
    context = {"form": form, "filling": filling, "order_id": order_id, "what": what}
    return render(request, "web/orders/take_back.html", context)


def _opening(batches: Sequence[Candidate], left: int) -> dict[str, Any]:
    """Return what a hand-over starts with: the batch meant for it, or with most birds free, and as many as may go."""
    first = batches[0] if batches else None
    return {
        "batch_id": first.batch.pk if first else None,
        "birds": min(left, first.meant or first.free) or left if first else left,
        "client_key": secrets.token_urlsafe(18),
    }
