"""The days on which eggs may be set, or chicks arrive, for a line of an order; and when its birds are handed over."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from farm.husbandry.incubation import hatch_after_days, lockdown_after_days
from farm.planning.allotments.records import Wanted
from farm.planning.ordering.records import Need, OrderKind, Supplier


@dataclass(frozen=True, slots=True)
class Day:
    """A day a batch may begin: eggs set for a hatch, or chicks from a supplier.

    arrival, age_days: when its birds first need a brooder, and how old they are then.
    """

    hatch_day: date
    arrival: date
    age_days: int
    set_on: date | None = None
    lockdown: date | None = None
    supplier: Supplier | None = None


def span(line: Wanted) -> tuple[date, date]:
    """Return the first and last hatch day of birds that are of the age asked for on some day of the line."""
    first = line.from_on - timedelta(days=line.age_to_days)
    return first, line.to_on - timedelta(days=line.age_from_days)


def handed_over(line: Wanted, day: Day) -> date:
    """Return the first day on which birds of a batch may be handed over: no sooner than old enough and here."""
    return max(line.from_on, day.hatch_day + timedelta(days=line.age_from_days), day.arrival)


def gone(line: Wanted, day: Day) -> date:
    """Return the first day on which birds handed over at the soonest are no longer there: they need room on the day."""
    return handed_over(line, day) + timedelta(days=1)


def suits(line: Wanted, day: Day) -> bool:
    """Return whether birds of that batch can be handed over in time and not too old."""
    handed = handed_over(line, day)
    return handed <= line.to_on and (handed - day.hatch_day).days <= line.age_to_days


def set_days(need: Need, line: Wanted) -> tuple[Day, ...]:
    """Return the hatches that serve a line and can still be set, the latest first."""
    kind = need.kinds[line.type]
    if not kind.can_set:
        return ()
    return tuple(
        day
        for hatch in _back(*span(line))
        if (day := setting(kind, hatch)).set_on is not None and _allowed(need, day) and suits(line, day)
    )


def setting(kind: OrderKind, hatch: date) -> Day:
    """Return the day of a hatch, with when its eggs are set and locked down."""
    set_on = hatch - timedelta(days=hatch_after_days(kind.programme))
    locked = set_on + timedelta(days=lockdown_after_days(kind.programme))
    return Day(hatch, hatch, 0, set_on, locked)


def intake_days(need: Need, line: Wanted) -> tuple[Day, ...]:
    """Return the arrivals from suppliers that serve a line, the latest first, then by supplier."""
    found = [
        day
        for supplier in need.suppliers
        if line.type in supplier.types
        for day in buying(supplier, line, need.today)
    ]
    return tuple(sorted(found, key=_latest))


def buying(supplier: Supplier, line: Wanted, today: date) -> list[Day]:
    """Return the arrivals from one supplier that serve a line."""
    soonest, age = today + timedelta(days=supplier.lead_days), timedelta(days=supplier.age_days)
    found = [Day(hatch, hatch + age, supplier.age_days, supplier=supplier) for hatch in _back(*span(line))]
    return [
        day
        for day in found
        if day.arrival >= soonest
        and (not supplier.weekdays or day.arrival.weekday() in supplier.weekdays)
        and suits(line, day)
    ]


def _latest(day: Day) -> tuple[int, str]:
    return -day.hatch_day.toordinal(), "" if day.supplier is None else day.supplier.key


def _allowed(need: Need, day: Day) -> bool:
    assert day.set_on is not None
    return (
        day.set_on >= need.today
        and (not need.set_weekdays or day.set_on.weekday() in need.set_weekdays)
        and (not need.hatch_weekdays or day.hatch_day.weekday() in need.hatch_weekdays)
    )


def _back(first: date, last: date) -> Iterator[date]:
    for at in range((last - first).days, -1, -1):
        yield first + timedelta(days=at)
