"""The week as a grid: rounds by day, in each cell who has how much, and what nobody has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Farm, Member
from farm.models.chore_mark import Round
from farm.queries.rota import Week, Work
from farm.web.rota.badges import Badge, badges


@dataclass(frozen=True, slots=True)
class Chip:
    """What one member has in a cell."""

    member: Member
    badge: Badge
    works: Sequence[Work]

    @property
    def minutes(self) -> int:
        """Return the minutes of all of it."""
        return sum(work.due.item.minutes for work in self.works)

    @property
    def left(self) -> int:
        """Return how many are still to do."""
        return sum(work.due.open for work in self.works)

    @property
    def done(self) -> bool:
        """Say whether nothing of it is left."""
        return self.left == 0

    @property
    def fixed(self) -> bool:
        """Say whether a person decided on any of it."""
        return any(self.member.pk in work.pinned for work in self.works)


@dataclass(frozen=True, slots=True)
class Cell:
    """One round of one day. away: names of those who are away that day."""

    day: date
    round: str
    chips: Sequence[Chip]
    nobody: Sequence[Work]
    away: Sequence[str]
    past: bool

    @property
    def missing(self) -> int:
        """Return how many hands are lacking."""
        return sum(work.missing for work in self.nobody)


@dataclass(frozen=True, slots=True)
class Row:
    """One round over the week."""

    key: str
    label: str
    cells: Sequence[Cell]


@dataclass(frozen=True, slots=True)
class Person:
    """A member of the week with their minutes of it."""

    member: Member
    badge: Badge
    minutes: int


@dataclass(frozen=True, slots=True)
class Grid:
    """A week for the page."""

    week: Week
    rows: Sequence[Row]
    people: Sequence[Person]

    @property
    def missing(self) -> int:
        """Return how many hands the week lacks."""
        return sum(cell.missing for row in self.rows for cell in row.cells)

    @property
    def empty(self) -> bool:
        """Say whether nothing is due."""
        return not self.week.works


def of_week(week: Week, today: date) -> Grid:
    """Return the grid of a week."""
    marks = badges(week.members)
    rows = [
        Row(name, str(Round(name).label), [_cell(week, day, name, marks, today) for day in week.days])
        for name in week.rounds
    ]
    people = [
        Person(member, marks[member.pk], week.minutes(member=member.pk))
        for member in week.members
        if member.left_on is None
    ]
    return Grid(week, rows, people)


def first_day(farm: Farm, today: date, asked: str) -> date:
    """Return the first day of the week asked for as an ISO day, else of today's, by the farm's first weekday."""
    try:
        day = date.fromisoformat(asked)
    except ValueError:
        day = today
    if abs((day - today).days) > 400:
        day = today
    return day - timedelta(days=(day.weekday() - farm.first_weekday) % 7)


def _cell(week: Week, day: date, name: str, marks: dict[int, Badge], today: date) -> Cell:
    chips = [
        Chip(member, marks[member.pk], works)
        for member in week.members
        if (works := week.cells.get((day, name, member.pk)))
    ]
    away = [member.name for member in week.members if (member.pk, day) in week.away]
    return Cell(day, name, chips, week.nobody.get((day, name), ()), away, day < today)
