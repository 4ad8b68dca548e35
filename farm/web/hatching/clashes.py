"""Conflicts of egg sets with machines: numbered, a bar under the row of the machine, a sentence under the drawing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from farm.phrase import N_
from farm.planning.machines import Conflict

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

    @property
    def days(self) -> tuple[date, date]:
        """Return its first day and the day after its last."""
        return self.conflict.start, self.conflict.end


def numbered(conflicts: Iterable[Conflict]) -> tuple[Numbered, ...]:
    """Return the conflicts with numbers from 1, in the order given."""
    return tuple(Numbered(number, each) for number, each in enumerate(conflicts, 1))
