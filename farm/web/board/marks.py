"""Breaches on the board: numbered, each a bar in a lane under its row, and a sentence in the list below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True)
class Numbered:
    """A breach with the number it has on the board and in the list."""

    number: int
    breach: Breach

    @property
    def name(self) -> str:
        """Return the untranslated word for its kind."""
        return NAMES[self.breach.kind]


@dataclass(frozen=True, slots=True)
class Mark:
    """A breach drawn: a bar from x to x + width in a lane counted from 0, its number in a disc at `disc`."""

    numbered: Numbered
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


def marks(found: Sequence[Numbered], window: Window, scale: Scale) -> tuple[Mark, ...]:
    """Return the marks of one row, each in the first lane where it touches no other."""
    width = scale.x(window.days)
    free: list[float] = []  # where each lane is free from
    drawn = []
    for one in sorted(found, key=lambda each: (each.breach.start, each.number)):
        columns = window.clip(one.breach.start, one.breach.end)
        if columns is None:
            continue
        x, stop = scale.x(columns.start), scale.x(columns.stop)
        left = min(x, width - LANE)
        lane = next((i for i, taken in enumerate(free) if taken <= left), len(free))
        free[lane : lane + 1] = [max(stop, left + LANE)]
        drawn.append(Mark(one, x, round(stop - x, 2), lane, round(left + LANE / 2, 2)))
    return tuple(drawn)
