"""Breaches on the board: numbered, each a bar in a lane under its row, and a sentence in the list below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from farm.phrase import N_
from farm.planning.breach import Breach
from farm.planning.window import Window
from farm.web.board.geometry import Scale

LANE = 26.0  # height of one lane, and least width of a mark: a finger finds it

#: What a mark is called beside its number.
NAMES = {
    "room": N_("Floor"),
    "feeder": N_("Feeder edge"),
    "drinker": N_("Drinker edge"),
    "heat": N_("Heat"),
    "age_gap": N_("Ages"),
    "species": N_("Species"),
    "one_batch": N_("One batch"),
    "rest": N_("Rest days"),
    "service": N_("Out of use"),
    "unhoused": N_("No housing"),
}


class Told(Protocol):
    """Something numbered that lasts from one day up to another."""

    @property
    def number(self) -> int:
        """Return its number in the drawing and in the list."""

    @property
    def days(self) -> tuple[date, date]:
        """Return its first day and the day after its last."""


@dataclass(frozen=True, slots=True)
class Numbered:
    """A breach with the number it has on the board and in the list."""

    number: int
    breach: Breach

    @property
    def name(self) -> str:
        """Return the untranslated word for its kind."""
        return NAMES[self.breach.kind]

    @property
    def days(self) -> tuple[date, date]:
        """Return its first day and the day after its last."""
        return self.breach.start, self.breach.end


@dataclass(frozen=True, slots=True)
class Mark:
    """Something told, drawn: a bar from x to x + width in a lane counted from 0, its number in a disc at `disc`."""

    numbered: Told
    x: float
    width: float
    lane: int
    disc: float

    @property
    def y(self) -> float:
        """Return the top of its lane, from the top of the first."""
        return self.lane * LANE


def numbered(breaches: Sequence[Breach]) -> tuple[Numbered, ...]:
    """Return the breaches with numbers from 1, in the order given."""
    return tuple(Numbered(number, breach) for number, breach in enumerate(breaches, 1))


def marks(found: Sequence[Told], window: Window, scale: Scale) -> tuple[Mark, ...]:
    """Return the marks of one row, each in the first lane where it touches no other."""
    width = scale.x(window.days)
    free: list[float] = []  # where each lane is free from
    drawn = []
    for one in sorted(found, key=lambda each: (each.days[0], each.number)):
        columns = window.clip(*one.days)
        if columns is None:
            continue
        x, stop = scale.x(columns.start), scale.x(columns.stop)
        left = min(x, width - LANE)
        lane = next((i for i, taken in enumerate(free) if taken <= left), len(free))
        free[lane : lane + 1] = [max(stop, left + LANE)]
        drawn.append(Mark(one, x, round(stop - x, 2), lane, round(left + LANE / 2, 2)))
    return tuple(drawn)
