"""Customers' names are personal data: they can be taken out of everything that was ever written down."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator
from typing import Any

from django.db.models import F, Model, Q
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
        swap = _Swap(known, names, code)
        for model, fields in _records():
            _rewrite(model._default_manager.filter(farm=log.farm), fields, swap)
        _rewrite_history(log.farm, swap)
        forgotten.send(sender=Farm, farm=log.farm, swap=swap.of)
        # The row says what stands there now, and nothing of what did.
        log.changes.append(Change(model="customer", row=number, before=None, after={"name": code}))
        log.says(None, _("A customer's name was replaced by %(code)s") % {"code": code})
    return code


class _Swap:
    """Puts the code in place of the names wherever they stand as words of their own.

    known: all customers' names: "Ann" is not in "Ann Smith" when that is another customer.
    """

    def __init__(self, known: Iterable[str], names: Collection[str], code: str) -> None:
        longest_first = sorted(known, key=len, reverse=True)
        self.pattern = re.compile(rf"(?<!\w)(?:{'|'.join(map(re.escape, longest_first))})(?!\w)")
        self.names, self.code = names, code

    def of(self, value: Any) -> Any:
        """Return a JSON value with the code in all its texts."""
        if isinstance(value, str):
            return self.pattern.sub(lambda said: self.code if said[0] in self.names else said[0], value)
        if isinstance(value, list):
            return [self.of(each) for each in value]
        if isinstance(value, dict):
            return {key: self.of(each) for key, each in value.items()}
        return value


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


def _rewrite(rows: Any, fields: tuple[str, ...], swap: _Swap) -> None:
    """Write the rows the swap changes, past the history; a form open meanwhile is stale."""
    for row in rows:
        new = {name: swap.of(getattr(row, name)) for name in fields}
        differing = {name: value for name, value in new.items() if value != getattr(row, name)}
        if differing:
            version = {"version": F("version") + 1} if hasattr(row, "version") else {}
            type(row)._default_manager.filter(pk=row.pk).update(**differing, **version)


def _rewrite_history(farm: Farm, swap: _Swap) -> None:
    told = Q(noun__in=_TELLING) | Q(changes__model__in=_TELLING)
    _rewrite(HistoryEntry.objects.filter(told, farm=farm).distinct(), ("summary",), swap)
    rows = Change.objects.filter(entry__farm=farm, model__in=(*_TELLING, "countentry"))
    _rewrite(rows, ("before", "after"), swap)
