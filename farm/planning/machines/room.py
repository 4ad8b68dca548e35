"""How many more eggs of a kind can be set on a day, and where."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from math import floor

from farm.planning.machines.filling import stretches
from farm.planning.machines.judging import alone, together
from farm.planning.machines.records import EggLoad, Machine, Spell, by_key, spells
from farm.trade.eggs import egg_kind


@dataclass(frozen=True, slots=True)
class Room:
    """The most eggs that may be set in `setter` and hatch in `hatcher` (keys of machines, maybe the same)."""

    setter: str
    hatcher: str
    eggs: int


def room(
    machines: Sequence[Machine],
    loads: Sequence[EggLoad],
    species: str,
    set_on: date,
    lockdown: date,
    hatch_day: date,
) -> tuple[Room, ...]:
    """Return where eggs of a species can be set without being part of any conflict, most eggs first.

    Pairs of machines with no room are left out; of equals a machine that does both comes first, then by key.
    Raises KeyError for an unknown species, ValueError when the days do not rise and as in `by_key`.
    """
    by_key(machines, loads)
    one = EggLoad(_key(loads), "", species, egg_kind(species).size, 1, "", "", set_on, lockdown, hatch_day)
    there = {machine.key: spells(loads, machine.key) for machine in machines}
    found = [
        Room(setter.key, hatcher.key, most)
        for setter in machines
        for hatcher in machines
        if (most := _most(replace(one, setter=setter.key, hatcher=hatcher.key), (setter, hatcher), there)) > 0
    ]
    return tuple(sorted(found, key=lambda r: (-r.eggs, r.setter != r.hatcher, r.setter, r.hatcher)))


def _key(loads: Iterable[EggLoad]) -> str:
    """Return a key no load has."""
    return max((load.key for load in loads), default="") + "+"


def _most(one: EggLoad, pair: tuple[Machine, Machine], there: Mapping[str, Sequence[Spell]]) -> int:
    most: int | None = None
    for machine in dict.fromkeys(machine.key for machine in pair):
        place = pair[0] if pair[0].key == machine else pair[1]
        others = there[machine]
        for mine in spells((one,), machine):
            if any(alone(place, mine)) or any(c for each in others for c in together(place, mine, each)):
                return 0
            free = 1 - _fullest(place, others, mine)
            fits = floor(free * place.capacity[one.size])
            most = fits if most is None else min(most, fits)
    return max(0, most or 0)


def _fullest(machine: Machine, others: Sequence[Spell], mine: Spell) -> Fraction:
    """Return how full the others make the machine on the fullest day of the spell."""
    shares = (s.share for s in stretches(machine, others) if s.start < mine.end and mine.start < s.end)
    return max(shares, default=Fraction())
