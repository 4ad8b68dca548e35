"""What the machines part reads (machines, egg loads) and the spells in which eggs fill a machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from types import MappingProxyType

from farm.trade.general import figure

DAY = timedelta(days=1)
BOTH, SETTER, HATCHER = "both", "setter", "hatcher"


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine for eggs.

    does: "both", "setter" or "hatcher". capacity: eggs by size (of `farm.trade.eggs.SIZES`); absent or 0 does not
    take them. species: allowed ones, empty any. air: "forced" or "still". cleaning_days: whole days after a hatch.
    In service on the half-open days [in_service_from, in_service_to); an open side is None.
    """

    key: str
    name: str
    does: str
    capacity: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    species: frozenset[str] = frozenset()
    air: str = "forced"
    cleaning_days: int = 1
    in_service_from: date | None = None
    in_service_to: date | None = None

    def share(self, size: str, eggs: int) -> Fraction:
        """Return the part of the machine that eggs take; ZeroDivisionError for a size it does not take."""
        return Fraction(eggs, self.capacity.get(size, 0))


@dataclass(frozen=True, slots=True)
class EggLoad:
    """Eggs of one set: in the setter on [set_on, lockdown), then in the hatcher until they are out.

    setter, hatcher: keys of machines, the same for a set that stays in one. ValueError when the days do not rise
    or there are no eggs.
    """

    key: str
    name: str
    species: str
    size: str
    eggs: int
    setter: str
    hatcher: str
    set_on: date
    lockdown: date
    hatch_day: date

    def __post_init__(self) -> None:
        if not self.set_on < self.lockdown <= self.hatch_day:
            raise ValueError(f"{self.name}: set, lockdown and hatch must follow one another")
        if self.eggs < 1:
            raise ValueError(f"{self.name}: needs at least one egg")

    @property
    def out(self) -> date:
        """Return the first day on which the hatcher is empty of it."""
        return self.hatch_day + timedelta(days=int(figure("incubation", "out_after_days")))


@dataclass(frozen=True, slots=True)
class Spell:
    """One load in one machine over the half-open days [start, end): `hatching` from lockdown, turned before.

    enters: the first day of the load in this machine, before `start` where it was turned in it too.
    """

    load: EggLoad
    hatching: bool
    start: date
    end: date
    enters: date

    def meets(self, other: Spell) -> tuple[date, date] | None:
        """Return the half-open days both are in the machine, None when there is none."""
        first, stop = max(self.start, other.start), min(self.end, other.end)
        return (first, stop) if first < stop else None


def spells(loads: Iterable[EggLoad], machine: str) -> tuple[Spell, ...]:
    """Return every spell of the loads in a machine, by first day, then key."""
    found = (spell for load in loads for spell in _of(load, machine))
    return tuple(sorted(found, key=lambda spell: (spell.start, spell.load.key)))


def _of(load: EggLoad, machine: str) -> Iterator[Spell]:
    if load.setter == machine:
        yield Spell(load, False, load.set_on, load.lockdown, load.set_on)
    if load.hatcher == machine:
        enters = load.set_on if load.setter == machine else load.lockdown
        yield Spell(load, True, load.lockdown, load.out, enters)


def by_key(machines: Sequence[Machine], loads: Sequence[EggLoad]) -> dict[str, Machine]:
    """Return the machines by key. ValueError for a key given twice, or a load in a machine that is not given."""
    found = {machine.key: machine for machine in machines}
    if len(found) < len(machines):
        raise ValueError("two machines have the same key")
    if len({load.key for load in loads}) < len(loads):
        raise ValueError("two egg loads have the same key")
    for load in loads:
        if not {load.setter, load.hatcher} <= set(found):
            raise ValueError(f"{load.name} is in a machine that is not given")
    return found
