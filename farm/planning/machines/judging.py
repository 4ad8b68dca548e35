"""Every conflict of egg sets with the machines they are meant for, and with one another in them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from fractions import Fraction
from itertools import combinations, groupby
from math import ceil

from farm.planning.machines.conflict import Conflict
from farm.planning.machines.filling import Stretch, stretches
from farm.planning.machines.records import HATCHER, SETTER, EggLoad, Machine, Spell, by_key, spells
from farm.trade.eggs import egg_kind
from farm.trade.general import figure


def conflicts(machines: Sequence[Machine], loads: Sequence[EggLoad]) -> tuple[Conflict, ...]:
    """Return every conflict, by first day, machine, kind and egg sets.

    One conflict is one rule broken in one machine without a break: by all the loads of a run of overfull days
    (`capacity`), by two loads (`lockdown`, `climate`, `cleaning`), or by one load in one of its phases (the others).
    Another load never takes a conflict away. ValueError as in `by_key`.
    """
    by_key(machines, loads)
    found: list[Conflict] = []
    for machine in machines:
        there = spells(loads, machine.key)
        found += _too_full(machine, there)
        for spell in there:
            found += alone(machine, spell)
        for one, other in combinations(there, 2):
            found += together(machine, one, other)
    return tuple(sorted(found, key=lambda c: (c.start, c.machine, c.kind, c.loads, c.end)))


def alone(machine: Machine, spell: Spell) -> Iterator[Conflict]:
    """Yield what is wrong with one spell in the machine whoever else is in it."""
    load, days = spell.load, (spell.start, spell.end)
    if machine.does == (SETTER if spell.hatching else HATCHER):
        yield _conflict("work", machine, (load,), days, hatching=spell.hatching)
    if machine.species and load.species not in machine.species:
        yield _conflict("species", machine, (load,), days)
    if not machine.capacity.get(load.size):
        yield _conflict("size", machine, (load,), days)
    begins, ends = machine.in_service_from, machine.in_service_to
    if begins is not None and spell.start < begins:
        yield _conflict("service", machine, (load,), (spell.start, min(spell.end, begins)))
    if ends is not None and spell.end > ends:
        yield _conflict("service", machine, (load,), (max(spell.start, ends), spell.end))


def together(machine: Machine, one: Spell, other: Spell) -> Iterator[Conflict]:
    """Yield what is wrong with two spells of different loads in the same machine, room apart."""
    if one.load is other.load:
        return
    days = one.meets(other)
    if days is not None and one.hatching != other.hatching:
        locked, turned = (one, other) if one.hatching else (other, one)
        yield _conflict("lockdown", machine, (locked.load, turned.load), days)
    if days is not None and one.hatching == other.hatching and _differ(one.load, other.load):
        yield _conflict("climate", machine, _in_order(one.load, other.load), days)
    for first, then in ((one, other), (other, one)):
        cleaned = first.end + timedelta(days=machine.cleaning_days)
        if first.hatching and then.start == then.enters and first.end <= then.enters < cleaned:
            yield _conflict("cleaning", machine, (first.load, then.load), (first.end, cleaned), then.enters)


def _in_order(one: EggLoad, other: EggLoad) -> tuple[EggLoad, EggLoad]:
    return (one, other) if (one.set_on, one.key) <= (other.set_on, other.key) else (other, one)


def _differ(one: EggLoad, other: EggLoad) -> bool:
    """Say whether no one humidity is near enough to what both need; the temperature is the same for all."""
    apart = abs(egg_kind(one.species).rh_extra - egg_kind(other.species).rh_extra)
    return apart > figure("incubation", "rh_apart_most")


def _conflict(
    kind: str,
    machine: Machine,
    loads: tuple[EggLoad, ...],
    days: tuple[date, date],
    worst: date | None = None,
    hatching: bool = False,
) -> Conflict:
    keys, names = tuple(load.key for load in loads), tuple(load.name for load in loads)
    eggs = loads[-1].eggs
    return Conflict(kind, machine.key, machine.name, keys, names, *days, worst or days[0], eggs, hatching)


def _too_full(machine: Machine, there: Sequence[Spell]) -> Iterator[Conflict]:
    for over, run in groupby(stretches(machine, there), key=lambda stretch: stretch.share > 1):
        if over:
            yield _overfull(machine, tuple(run))


def _overfull(machine: Machine, run: tuple[Stretch, ...]) -> Conflict:
    worst = max(run, key=lambda stretch: stretch.share)  # the first of the fullest
    loads = tuple(
        {spell.load.key: spell.load for stretch in run for spell in _counted(machine, stretch)}.values()
    )
    eggs = _least_out(machine, [spell.load for spell in _counted(machine, worst)], worst.share - 1)
    keys, names = tuple(load.key for load in loads), tuple(load.name for load in loads)
    days = (run[0].start, run[-1].end, worst.start)
    return Conflict("capacity", machine.key, machine.name, keys, names, *days, eggs)


def _counted(machine: Machine, stretch: Stretch) -> Iterator[Spell]:
    return (spell for spell in stretch.spells if machine.capacity.get(spell.load.size))


def _least_out(machine: Machine, loads: Iterable[EggLoad], over: Fraction) -> int:
    """Return the fewest eggs to take out to make up for `over`: the biggest go first."""
    eggs = 0
    for load in sorted(loads, key=lambda load: machine.capacity[load.size]):
        if over <= 0:
            break
        out = min(load.eggs, ceil(over * machine.capacity[load.size]))
        eggs, over = eggs + out, over - machine.share(load.size, out)
    return eggs
