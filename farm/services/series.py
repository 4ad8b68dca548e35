"""Orders that repeat: one order for each of their days, changed together until somebody changes one by itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Order, OrderSeries
from farm.models.member import Role
from farm.models.order import OrderStatus, Priority, WantedSex
from farm.queries import lookup
from farm.services import batch_rules, day_rules, order_fields, order_rules, orders, programmes, stale
from farm.services.actor import Actor
from farm.services.order_fields import NewLine, NewOrder
from farm.services.writing import Log, write

_WANTS = ("birds", "sex", "breed", "age_from_days", "age_to_days")
_OF_ORDER = ("customer", "priority", "deposit", "notes")


@dataclass(frozen=True, slots=True, kw_only=True)
class NewSeries:
    """What a keeper types for an order that repeats: every so many weeks from first_on to last_on, each open for
    window_days. programme: a choice of `queries.programmes.choices`; ages in whole days."""

    customer: str
    programme: str
    birds: int
    age_from_days: int
    age_to_days: int
    every_weeks: int
    first_on: date
    last_on: date
    window_days: int = 3
    sex: str = WantedSex.ANY
    breed: str = ""
    priority: int = Priority.USUAL
    deposit: str = ""
    notes: str = ""


def add(by: Actor, *, new: NewSeries) -> OrderSeries:
    """Take an order that repeats, and with it an order for each of its days. Raises BadInput by field."""
    with write(by, "add series", role=Role.KEEPER) as log:
        series = OrderSeries(farm=log.farm)
        typed = {field.name: getattr(new, field.name) for field in fields(new)}
        for name, value in _tidied(log, typed).items():
            setattr(series, name, value)
        batch_rules.check_typed(by.today, first_on=series.first_on, last_on=series.last_on)
        if series.first_on < by.today:
            raise BadInput.at("first_on", _("This day has passed. Choose the first day still to come."))
        log.add(series)
        made = _write_orders(log, series)
        log.says(
            series,
            _("Repeating order of %(customer)s added: %(orders)d orders from %(day)s")
            % {"customer": series, "orders": made, "day": day_rules.shown(series.first_on)},
        )
    return series


def change(by: Actor, *, series_id: int, expected_version: int | None, **typed: Any) -> OrderSeries:
    """Change a series, any field of NewSeries, and with it its orders still to come.

    Left as they are: orders changed by themselves, filled or cancelled, begun to be handed over, or of days that have
    passed. Raises Stale, BadInput.
    """
    with write(by, "change series", role=Role.KEEPER) as log:
        series = lookup.get(OrderSeries, farm_id=by.farm_id, pk=series_id)
        stale.check(series, expected_version)
        wanted = _tidied(log, typed)
        days = ("first_on", "last_on")
        moved = {
            name: wanted[name]
            for name in days
            if wanted.get(name, getattr(series, name)) != getattr(series, name)
        }
        batch_rules.check_typed(by.today, **moved)
        if log.change(series, **wanted):
            _write_orders(log, series)
            log.says(series, _("Repeating order of %(customer)s changed") % {"customer": series})
    return series


def end(by: Actor, *, series_id: int, last_on: date, expected_version: int | None) -> OrderSeries:
    """End a series early: orders still open after `last_on` go. Raises Stale, BadInput."""
    return change(by, series_id=series_id, expected_version=expected_version, last_on=last_on)


def remove(by: Actor, *, series_id: int, expected_version: int | None = None) -> None:
    """Remove a series with its orders still to come; the others stay as orders by themselves. Raises Stale."""
    with write(by, "remove series", role=Role.KEEPER) as log:
        series = lookup.get(OrderSeries, farm_id=by.farm_id, pk=series_id)
        stale.check(series, expected_version)
        for order in series.orders.all():
            if _follows(order, by.today):
                orders.remove_in(log, order)
            else:
                log.change(order, series=None, series_on=None, alone=False)
        log.says(series, _("Repeating order of %(customer)s removed") % {"customer": series})
        log.remove(series)


def days(series: OrderSeries) -> Iterator[date]:
    """Yield the days of a series in order."""
    day = series.first_on
    while day <= series.last_on:
        yield day
        day += timedelta(weeks=series.every_weeks)


def _tidied(log: Log, typed: dict[str, Any]) -> dict[str, Any]:
    known = {field.name for field in fields(NewSeries)}
    if not typed.keys() <= known:
        raise TypeError(f"not a series' own: {sorted(typed.keys() - known)}")
    found = dict(typed)
    found |= {name: found[name].strip() for name in ("customer", "breed", "deposit") if name in found}
    if "programme" in found:
        found["programme"] = programmes.version_for(log, found["programme"]).programme
    return found


def _follows(order: Order, today: date) -> bool:
    """Say whether an order of a series is changed when the series is."""
    begun = any(order_rules.handed_over(line) for line in order.lines.all())
    open_ = order.status in (OrderStatus.QUOTE, OrderStatus.CONFIRMED)
    return (
        open_ and not order.alone and not begun and order.series_on is not None and order.series_on >= today
    )


def _write_orders(log: Log, series: OrderSeries) -> int:
    """Bring the orders of a series to what it says from today on; return how many there are to come."""
    wanted = [day for day in days(series) if day >= log.by.today]
    there = {order.series_on: order for order in series.orders.all()}
    for order in list(there.values()):
        if _follows(order, log.by.today) and order.series_on not in wanted:
            orders.remove_in(log, order)
    for day in wanted:
        known = there.get(day)
        if known is None:
            orders.add_in(log, _order(series, day), series=series, series_on=day)
        elif _follows(known, log.by.today):
            _rewrite(log, known, _order(series, day))
    return len(wanted)


def _rewrite(log: Log, order: Order, new: NewOrder) -> None:
    [line] = order.lines.all()
    log.change(order, **{name: getattr(new, name) for name in _OF_ORDER})
    [wanted] = new.lines
    values = {field.name: getattr(wanted, field.name) for field in fields(wanted)}
    order_fields.write_lines(log, order, [NewLine(**values | {"line_id": line.pk})])


def _order(series: OrderSeries, day: date) -> NewOrder:
    line = NewLine(
        programme=_choice(series),
        from_on=day,
        to_on=day + timedelta(days=series.window_days - 1),
        **{name: getattr(series, name) for name in _WANTS},
    )
    return NewOrder(lines=[line], **{name: getattr(series, name) for name in _OF_ORDER})


def _choice(series: OrderSeries) -> str:
    """Return the choice that stands for the type of a series: a built-in key, or the number of the farm's own."""
    return str(series.programme_id) if series.programme.edited else series.programme.built_in
