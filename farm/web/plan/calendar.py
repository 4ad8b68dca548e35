"""The headroom calendar: weeks as rows, days as cells, each with how many more birds of a type could arrive."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from farm.planning.headroom import Headroom
from farm.queries.headroom import Table
from farm.web.board.choice import week_start

#: Shades of a cell, by share of the roomiest day: a twin of the number, never instead of it.
LEVELS = 4


@dataclass(frozen=True, slots=True)
class Day:
    """What is known of an arrival day. replanned: the most with others planned anew, None while unknown."""

    arrival: date
    birds: int
    replanned: int | None
    housing: str
    binds_on: date | None

    @property
    def best(self) -> int:
        """Return the most that could come."""
        return max(self.birds, self.replanned or 0)


@dataclass(frozen=True, slots=True)
class Cell:
    """One arrival day. birds: so many fit with nobody moved; more: after re-planning, where that is known to be more.

    housing, day: what binds. level: 0 (none fit) to LEVELS (the roomiest).
    """

    arrival: date
    birds: int
    more: int | None
    housing: str
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
    """The year ahead for one type. done, of: days with the others planned anew, of those that will be."""

    weeks: tuple[Week, ...]
    weekdays: tuple[date, ...]
    done: int
    of: int

    @property
    def working(self) -> bool:
        """Say whether days are still to be worked out."""
        return self.done < self.of


def stored(table: Table, type_: str, housings: Mapping[str, str], first_weekday: int) -> Calendar | None:
    """Return the calendar of a type as it was worked out for the farm as it is now, None where it was not.

    housings: names by number, as text.
    """
    line = next((line for line in table.lines if line.type == type_), None)
    if line is None or not table.fresh:
        return None
    days = [
        Day(row.day, row.birds, row.replanned_birds, housings.get(row.binding, ""), row.binding_day)
        for row in line.cells
    ]
    return _calendar(days, first_weekday, table.done, table.of)


def fixed(found: Headroom, first_weekday: int) -> Calendar:
    """Return the calendar of the one type of `found`, with nobody else moved."""
    cells = [found.cell(0, place) for place in range(found.birds.shape[1])]
    days = [Day(cell.arrival, cell.birds, None, cell.housing.name, cell.day) for cell in cells]
    return _calendar(days, first_weekday, 0, 0)


def _calendar(days: Sequence[Day], first_weekday: int, done: int, of: int) -> Calendar:
    most = max(day.best for day in days)
    cells = {day.arrival: _cell(day, most) for day in days}
    start = week_start(days[0].arrival, first_weekday)
    weeks = []
    while start <= days[-1].arrival:
        line = [start + timedelta(days=place) for place in range(7)]
        weeks.append(Week(start, tuple(cells.get(day) for day in line)))
        start += timedelta(days=7)
    weekdays = tuple(weeks[0].start + timedelta(days=place) for place in range(7))
    return Calendar(tuple(weeks), weekdays, done, of)


def _cell(day: Day, most: int) -> Cell:
    return Cell(
        arrival=day.arrival,
        birds=day.birds,
        more=day.best if day.best > day.birds else None,
        housing=day.housing,
        day=day.binds_on,
        level=-(-day.best * LEVELS // most) if most else 0,
        first_of_month=day.arrival.day == 1,
    )
