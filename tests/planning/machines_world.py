"""A small world of machines and egg loads, and a judge that asks each day anew and shares no code with the engine."""

from datetime import date, timedelta
from fractions import Fraction
from itertools import combinations

from hypothesis import strategies as st

from farm.planning.machines import EggLoad, Machine
from farm.planning.window import Window

DAY0 = date(2026, 3, 1)
SIZE = {"quail": "small", "chicken": "medium", "duck": "large", "goose": "very_large"}
WATERFOWL = {"duck", "goose"}
INCUBATOR = Machine("i", "Incubator", "both", {"medium": 50, "large": 30, "small": 120})
SETTER = Machine("s", "Setter", "setter", {"medium": 200, "large": 120})
HATCHERY = Machine("h", "Hatcher", "hatcher", {"medium": 100, "large": 60})


def day(after):
    return DAY0 + timedelta(days=after)


def load(key, setter, hatcher=None, eggs=20, on=0, species="chicken", turned=18, locked=3):
    """Eggs set `on` days after DAY0, turned for `turned` days and in lockdown for `locked` until they hatch."""
    days = (day(on), day(on + turned), day(on + turned + locked))
    return EggLoad(key, f"Set {key}", species, SIZE[species], eggs, setter, hatcher or setter, *days)


@st.composite
def machines(draw):
    """One to three machines of any kind, some with few places, seasons or rules of their own."""
    made = []
    for key in range(draw(st.integers(1, 3))):
        start = draw(st.none() | st.integers(-5, 40))
        made.append(
            Machine(
                str(key),
                f"Machine {key}",
                draw(st.sampled_from(["both", "both", "setter", "hatcher"])),
                {size: draw(st.integers(0, 60)) for size in SIZE.values()},
                frozenset(draw(st.sets(st.sampled_from(sorted(SIZE)), max_size=3))),
                cleaning_days=draw(st.integers(0, 4)),
                in_service_from=None if start is None else day(start),
                in_service_to=draw(st.none() | st.integers((start or 0) + 1, 80).map(day)),
            )
        )
    return made


@st.composite
def farms(draw, most=6):
    """Machines and up to `most` loads in them; every clash is allowed."""
    made = draw(machines())
    keys = [machine.key for machine in made]
    loads = [
        load(
            str(number),
            draw(st.sampled_from(keys)),
            draw(st.sampled_from(keys)),
            draw(st.integers(1, 40)),
            draw(st.integers(0, 50)),
            draw(st.sampled_from(sorted(SIZE))),
            draw(st.integers(1, 12)),
            draw(st.integers(0, 4)),
        )
        for number in range(draw(st.integers(0, most)))
    ]
    return made, loads


def phase(load, machine, today):
    """What a load does in a machine on a day: "turned", "hatching" or nothing."""
    if load.setter == machine.key and load.set_on <= today < load.lockdown:
        return "turned"
    if load.hatcher == machine.key and load.lockdown <= today < load.hatch_day + timedelta(days=2):
        return "hatching"
    return None


def full(machine, loads, today):
    """How full the machine is, as an exact share."""
    return sum(
        Fraction(each.eggs, machine.capacity[each.size])
        for each in loads
        if phase(each, machine, today) and machine.capacity.get(each.size)
    )


def judged(made, loads, window):
    """Every broken rule as (kind, machine, day, loads), one for each day it is broken; loads as a set of keys.

    `capacity` names nobody here, because a run of overfull days may change hands.
    """
    found = set()
    for machine in made:
        for today in window.dates():
            found |= {(kind, machine.key, today, who) for kind, who in _wrong(machine, loads, today)}
    return found


def _wrong(machine, loads, today):
    there = [(each, phase(each, machine, today)) for each in loads if phase(each, machine, today)]
    if full(machine, loads, today) > 1:
        yield "capacity", frozenset()
    for each, what in there:
        yield from ((kind, frozenset({each.key})) for kind in _unfit(machine, each, what, today))
    for (one, what), (other, else_) in combinations(there, 2):
        if what != else_:
            yield "lockdown", frozenset({one.key, other.key})
        elif (one.species in WATERFOWL) != (other.species in WATERFOWL):
            yield "climate", frozenset({one.key, other.key})
    for gone in loads:
        for comes in loads:
            if gone is not comes and _too_soon(machine, gone, comes, today):
                yield "cleaning", frozenset({gone.key, comes.key})


def _unfit(machine, each, what, today):
    if machine.does == ("hatcher" if what == "turned" else "setter"):
        yield "work"
    if machine.species and each.species not in machine.species:
        yield "species"
    if machine.capacity.get(each.size, 0) == 0:
        yield "size"
    begun = machine.in_service_from is None or machine.in_service_from <= today
    if not begun or (machine.in_service_to is not None and today >= machine.in_service_to):
        yield "service"


def _too_soon(machine, gone, comes, today):
    """Whether the machine is to be cleaned today after `gone`, and `comes` enters it before that is done."""
    if gone.hatcher != machine.key or machine.key not in (comes.setter, comes.hatcher):
        return False
    free = gone.hatch_day + timedelta(days=2)
    enters = comes.set_on if comes.setter == machine.key else comes.lockdown
    cleaning = range(machine.cleaning_days)
    return any(free + timedelta(days=n) == enters for n in cleaning) and today in [
        free + timedelta(days=n) for n in cleaning
    ]


WHOLE = Window(day(-1), 90)
