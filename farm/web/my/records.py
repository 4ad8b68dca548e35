"""What a member's page is made of: lines, by place, by round, by day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from farm.models import Batch
from farm.services.shown import Key
from farm.web.today.lines import Line, name_in_page


@dataclass(frozen=True, slots=True)
class MyLine:
    """One line of the page.

    key: the occurrence's identity, which a chore put off keeps. others: who else is on it. nobody: no one is given it.
    proof: that it was shown. form_key: makes what its plain forms send happen once. may_open: the member may take the
    tick back here. photo: the number of its picture, None without one.
    """

    line: Line
    key: Key
    others: Sequence[str]
    nobody: bool
    proof: str
    form_key: str
    may_open: bool
    photo: int | None = None

    @property
    def name(self) -> str:
        """Return its id in the page."""
        source, due, round = self.key
        return name_in_page(f"{round}-{due:%Y%m%d}-{source}")


@dataclass(frozen=True, slots=True)
class Place:
    """The lines of one housing in one round. housing: its number, None for what is no housing. batches: whose birds
    may have died there; empty where deaths are not counted."""

    name: str
    lines: Sequence[MyLine]
    housing: int | None = None
    batches: Sequence[Batch] = ()
    form_key: str = ""


@dataclass(frozen=True, slots=True)
class MyRound:
    """The lines of a half-day by place. current: it is now."""

    key: str
    label: str
    places: Sequence[Place]
    current: bool
    opened: bool

    @property
    def lines(self) -> list[MyLine]:
        """Return all its lines."""
        return [line for place in self.places for line in place.lines]

    @property
    def left(self) -> int:
        """Return how many are still to do."""
        return sum(each.line.mark is None for each in self.lines)


@dataclass(frozen=True, slots=True)
class MyDay:
    """One day of the member, its current round first."""

    day: date
    rounds: Sequence[MyRound]

    @property
    def lines(self) -> list[MyLine]:
        """Return all its lines."""
        return [line for one in self.rounds for line in one.lines]


@dataclass(frozen=True, slots=True)
class MyWork:
    """All of the page. before: steps still open from earlier days. ahead: the days to come."""

    today: MyDay
    before: Sequence[MyLine]
    ahead: Sequence[MyDay]

    @property
    def total(self) -> int:
        """Return how many lines today has, those from before included."""
        return len(self.today.lines) + len(self.before)

    @property
    def done(self) -> int:
        """Return how many of them are done or left out."""
        return sum(each.line.mark is not None for each in (*self.today.lines, *self.before))

    @property
    def minutes_left(self) -> int:
        """Return the minutes of what is still to do."""
        return sum(each.line.minutes for each in (*self.today.lines, *self.before) if each.line.mark is None)
