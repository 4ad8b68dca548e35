"""What a keeper types for an order, and how its lines come into the records."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, fields
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Order, OrderLine
from farm.models.order import OrderStatus, Priority, WantedSex
from farm.services import order_rules, programmes
from farm.services.writing import Log

MOST_LINES = 30  # project default (judgement)


@dataclass(frozen=True, slots=True, kw_only=True)
class NewLine:
    """One line as typed. programme: a choice of `queries.programmes.choices`; line_id: of the line it changes, None
    for a new one. from_on, to_on: first and last day to hand the birds over; ages in whole days, both included."""

    programme: str
    birds: int
    from_on: date
    to_on: date
    age_from_days: int
    age_to_days: int
    sex: str = WantedSex.ANY
    breed: str = ""
    line_id: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NewOrder:
    """An order as typed. ordered_on None: today."""

    customer: str
    lines: Sequence[NewLine]
    status: str = OrderStatus.CONFIRMED
    priority: int = Priority.USUAL
    deposit: str = ""
    notes: str = ""
    ordered_on: date | None = None


def write_lines(log: Log, order: Order, typed: Sequence[NewLine]) -> bool:
    """Bring the order's lines to what was typed: changed by id, added, removed; return whether anything differs.

    Raises BadInput with the fields of all lines: "lines-0-birds" for the birds of the first.
    """
    if not 1 <= len(typed) <= MOST_LINES:
        raise BadInput.at("lines", _("An order has 1 to %(most)d lines.") % {"most": MOST_LINES})
    there = {line.pk: line for line in order.lines.select_related("programme")}
    problems: dict[str, list[object]] = {}
    differs = False
    for row, new in enumerate(typed):
        with _at_line(row, problems):
            differs |= _write_line(log, order, there, new)
    for line in there.values():
        order_rules.check_removable(line)
        log.remove(line)
        differs = True
    if problems:
        raise BadInput(problems)
    return differs


def _write_line(log: Log, order: Order, there: dict[int, OrderLine], new: NewLine) -> bool:
    """Write one line, taking the one it changes out of `there`."""
    values: dict[str, Any] = {f.name: getattr(new, f.name) for f in fields(new) if f.name != "line_id"}
    values["programme"] = programmes.version_for(log, new.programme).programme
    values["breed"] = new.breed.strip()
    if new.line_id is None:
        line = OrderLine(farm=log.farm, order=order, **values)
        order_rules.check_line(line, None, log.by.today)
        log.add(line)
        return True
    old = there.pop(new.line_id, None)
    if old is None:
        raise BadInput.at("", _("This line is no longer part of the order. Open the order again."))
    order_rules.check_line(OrderLine(farm=log.farm, order=order, pk=old.pk, **values), old, log.by.today)
    return log.change(old, **values)


@contextmanager
def _at_line(row: int, problems: dict[str, list[object]]) -> Iterator[None]:
    """Collect what a line is refused for under the names its fields have in the form of the order."""
    try:
        yield
    except BadInput as refused:
        for name, texts in refused.fields.items():
            problems.setdefault(f"lines-{row}-{name}" if name else "lines", []).extend(texts)
