"""The headroom calendar: weeks as rows, days as cells, each with how many more birds of a type could arrive."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Headroom
from farm.web.board.choice import week_start

#: Shades of a cell, by share of the roomiest day: a twin of the number, never instead of it.
LEVELS = 4


@dataclass(frozen=True, slots=True)
class Cell:
    """One arrival day. birds: so many fit with nobody moved, None while unknown; more: after re-planning, where known.

    housing, day: what binds; both None where no housing suits at all. level: 0 (none fit) to LEVELS (the roomiest).
    """

    arrival: date
    birds: int | None
    more: int | None
    housing: str | None
    day: date | None
    level: int
    first_of_month: bool


@dataclass(frozen=True, slots=True)
class Week:
    """Seven cells, None for days outside the year asked about."""

    start: date
    cells: tuple[Cell | None, ...]


@dataclass(frozen=True, slots=True)
class Calendar:
    """The year ahead for one type. known and replanned: how many of its days are worked out, of `days`."""

    type: str
    weeks: tuple[Week, ...]
    weekdays: tuple[date, ...]
    days: int
    known: int
    replanned: int

    @property
    def working(self) -> bool:
        """Say whether days are still to be worked out."""
        return self.replanned < self.days


def calendar(
    type_: str,
    rows: Sequence[Headroom],
    housings: Mapping[str, str],
    today: date,
    first_weekday: int,
    days: int = 365,
) -> Calendar:
    """Return the calendar of one type from its rows. housings: names by number, as text."""
    by_day = {row.day: row for row in rows}
    most = max((_best(row) for row in rows), default=0)
    last = today + timedelta(days=days - 1)
    start = week_start(today, first_weekday)
    weeks = []
    while start <= last:
        line = [start + timedelta(days=place) for place in range(7)]
        cells = [
            _cell(day, by_day.get(day), housings, most) if today <= day <= last else None for day in line
        ]
        weeks.append(Week(start, tuple(cells)))
        start += timedelta(days=7)
    own = [row for row in rows if today <= row.day <= last]
    return Calendar(
        type=type_,
        weeks=tuple(weeks),
        weekdays=tuple(weeks[0].start + timedelta(days=place) for place in range(7)),
        days=days,
        known=len(own),
        replanned=sum(row.replanned_birds is not None for row in own),
    )


def _best(row: Headroom) -> int:
    return row.birds if row.replanned_birds is None else row.replanned_birds


def _cell(day: date, row: Headroom | None, housings: Mapping[str, str], most: int) -> Cell:
    if row is None:
        return Cell(day, None, None, None, None, 0, day.day == 1)
    more = (
        row.replanned_birds if row.replanned_birds is not None and row.replanned_birds > row.birds else None
    )
    return Cell(
        arrival=day,
        birds=row.birds,
        more=more,
        housing=housings.get(row.binding),
        day=row.binding_day if row.binding in housings else None,
        level=-(-_best(row) * LEVELS // most) if most else 0,
        first_of_month=day.day == 1,
    )
