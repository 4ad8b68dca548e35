"""Conflicts of egg sets with machines: numbered, a bar under the row of the machine, a sentence under the drawing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from farm.phrase import N_
from farm.planning.machines import Conflict
from farm.planning.window import Window
from farm.web.board.geometry import Scale

ROOM = 26.0  # height of one lane, and least width of a mark: a finger finds it

#: What a mark is called beside its number.
NAMES = {
    "capacity": N_("Too full"),
    "lockdown": N_("Turned beside hatching"),
    "species": N_("Species"),
    "climate": N_("Humidity"),
    "cleaning": N_("Cleaning"),
    "service": N_("Out of use"),
    "size": N_("Egg size"),
    "work": N_("Wrong machine"),
}


@dataclass(frozen=True, slots=True)
class Numbered:
    """A conflict with the number it has in the drawing and in the list."""

    number: int
    conflict: Conflict

    @property
    def name(self) -> str:
        """Return the untranslated word for its kind."""
        return NAMES[self.conflict.kind]


@dataclass(frozen=True, slots=True)
class Mark:
    """A conflict drawn: a bar from x to x + width in a lane counted from 0, its number in a disc at `disc`."""

    numbered: Numbered
    x: float
    width: float
    lane: int
    disc: float

    @property
    def y(self) -> float:
        """Return the top of its lane, from the top of the first."""
        return self.lane * ROOM


def numbered(conflicts: Iterable[Conflict]) -> tuple[Numbered, ...]:
    """Return the conflicts with numbers from 1, in the order given."""
    return tuple(Numbered(number, each) for number, each in enumerate(conflicts, 1))


def marks(found: Sequence[Numbered], window: Window, scale: Scale) -> tuple[Mark, ...]:
    """Return the marks of one machine, each in the first lane where it touches no other."""
    width, free = scale.x(window.days), list[float]()  # free: where each lane is free from
    drawn = []
    for one in found:
        columns = window.clip(one.conflict.start, one.conflict.end)
        if columns is None:
            continue
        x, stop = scale.x(columns.start), scale.x(columns.stop)
        left = min(x, width - ROOM)
        lane = next((i for i, taken in enumerate(free) if taken <= left), len(free))
        free[lane : lane + 1] = [max(stop, left + ROOM)]
        drawn.append(Mark(one, x, round(stop - x, 2), lane, round(left + ROOM / 2, 2)))
    return tuple(drawn)
