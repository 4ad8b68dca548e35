"""How full each machine is, day by day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

from farm.planning.machines.records import EggLoad, Machine, Spell, by_key, spells
from farm.planning.window import Window

EMPTY, SETTING, HATCHING, MIXED, CLEANING, OUT = (
    *("empty", "setting", "hatching", "mixed"),
    *("cleaning", "out_of_service"),
)


@dataclass(frozen=True, slots=True)
class MachineDay:
    """One machine on one day.

    share: exact part of it that is full, over 1 when it is overfull; eggs of a size it does not take count as
    nothing here. state: what goes on in it ("mixed": turned and hatching eggs together). loads: keys, in the order
    they came.
    """

    day: date
    share: Fraction
    state: str
    loads: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Half-open days [start, end) on which the same spells are in a machine, and how full they make it."""

    start: date
    end: date
    spells: tuple[Spell, ...]
    share: Fraction


def by_day(
    machines: Sequence[Machine], loads: Sequence[EggLoad], window: Window
) -> Mapping[str, tuple[MachineDay, ...]]:
    """Return each machine's days of the window, in order, by its key. ValueError as in `by_key`."""
    by_key(machines, loads)
    return {machine.key: _days(machine, spells(loads, machine.key), window) for machine in machines}


def stretches(machine: Machine, found: Sequence[Spell]) -> tuple[Stretch, ...]:
    """Return the stretches from the first day anything is in the machine to the last, empty ones included."""
    edges = sorted({day for spell in found for day in (spell.start, spell.end)})
    return tuple(
        Stretch(start, end, there := _there(found, start), filled(machine, there))
        for start, end in pairwise(edges)
    )


def filled(machine: Machine, found: Sequence[Spell]) -> Fraction:
    """Return the part of the machine these eggs take together; a size it does not take counts as nothing."""
    loads = (spell.load for spell in found)
    return sum(
        (machine.share(load.size, load.eggs) for load in loads if machine.capacity.get(load.size)), Fraction()
    )


def _there(found: Sequence[Spell], day: date) -> tuple[Spell, ...]:
    return tuple(spell for spell in found if spell.start <= day < spell.end)


def _days(machine: Machine, found: Sequence[Spell], window: Window) -> tuple[MachineDay, ...]:
    days = []
    for day in window.dates():
        there = _there(found, day)
        keys = tuple(spell.load.key for spell in there)
        days.append(MachineDay(day, filled(machine, there), _state(machine, found, there, day), keys))
    return tuple(days)


def _state(machine: Machine, found: Sequence[Spell], there: Sequence[Spell], day: date) -> str:
    phases = {spell.hatching for spell in there}
    if phases:
        return MIXED if len(phases) > 1 else HATCHING if True in phases else SETTING
    if any(s.hatching and s.end <= day < s.end + timedelta(days=machine.cleaning_days) for s in found):
        return CLEANING
    before = machine.in_service_from is not None and day < machine.in_service_from
    after = machine.in_service_to is not None and day >= machine.in_service_to
    return OUT if before or after else EMPTY
