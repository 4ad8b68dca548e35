"""Customers' names are personal data: they can be taken out of everything that was ever written down."""

from __future__ import annotations

from collections.abc import Iterator

from django.db.models import Model, Q
from django.dispatch import Signal
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import (
    Change,
    ChoreMark,
    CountEntry,
    Farm,
    HistoryEntry,
    Hold,
    Order,
    OrderSeries,
    SettingProposal,
)
from farm.models.member import Role
from farm.services.actor import Actor
from farm.services.swapping import Swap, rewrite
from farm.services.writing import write

#: What may tell of a customer, as the history names it; orders and series hold the name itself.
_TELLING = ("order", "orderseries", "orderline", "filling", "hold", "choremark", "settingproposal")
_HOLDING = ("order", "orderseries")
#: Sent inside the write, for whoever keeps words of his own: farm, and swap, which puts the code into a JSON value.
forgotten = Signal()


def forget(by: Actor, *, customer: str) -> str:
    """Put a code ("customer 3") in place of a customer's name, everywhere: orders, series, holds, sales, ticks,
    proposals and the history's lines and rows. Capital letters make no difference.

    Returns the code. Cannot be undone, or nothing would be forgotten. Raises BadInput for a name no order ever had.
    """
    with write(by, "forget customer", role=Role.KEEPER) as log:
        known = set(_names(log.farm))
        names = {name for name in known if name.casefold() == customer.strip().casefold()}
        if not names:
            raise BadInput.at("customer", _("No order has this name. Choose one of the list."))
        number = _next_number(log.farm)
        code = _("customer %(number)d") % {"number": number}
        swap = Swap(known, names, code)
        for model, fields in _records():
            rewrite(model._default_manager.filter(farm=log.farm), fields, swap)
        _rewrite_history(log.farm, swap)
        forgotten.send(sender=Farm, farm=log.farm, swap=swap.of)
        # The row says what stands there now, and nothing of what did.
        log.changes.append(Change(model="customer", row=number, before=None, after={"name": code}))
        log.says(None, _("A customer's name was replaced by %(code)s") % {"code": code})
    return code


def _records() -> Iterator[tuple[type[Model], tuple[str, ...]]]:
    yield Order, ("customer", "deposit", "notes")
    yield OrderSeries, ("customer", "deposit", "notes")
    yield Hold, ("reason",)
    yield CountEntry, ("note",)
    yield ChoreMark, ("title", "note")
    yield SettingProposal, ("content",)


def _names(farm: Farm) -> Iterator[str]:
    """Yield every customer's name on record: of orders and series as they are, and as they once were."""
    for model in (Order, OrderSeries):
        yield from model.objects.filter(farm=farm).values_list("customer", flat=True)
    for change in Change.objects.filter(entry__farm=farm, model__in=_HOLDING):
        yield from (row["customer"] for row in (change.before, change.after) if row)


def _next_number(farm: Farm) -> int:
    return Change.objects.filter(entry__farm=farm, model="customer").count() + 1


def _rewrite_history(farm: Farm, swap: Swap) -> None:
    told = Q(noun__in=_TELLING) | Q(changes__model__in=_TELLING)
    rewrite(HistoryEntry.objects.filter(told, farm=farm).distinct(), ("summary",), swap)
    rows = Change.objects.filter(entry__farm=farm, model__in=(*_TELLING, "countentry"))
    rewrite(rows, ("before", "after"), swap)
