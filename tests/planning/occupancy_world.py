"""A small farm with names: one warm brooder, one cold pen, one paddock, and a few batches to put in them.

Its needs are invented round numbers: 0.1 m² a bird, twice that from day 28; heat until day 35.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from farm.planning.check import breaches
from farm.planning.occupancy import Group, Part, Room, occupancy
from farm.planning.window import Window

APRIL = Window(date(2031, 4, 12), 60)


@dataclass(frozen=True, eq=False)
class Arrays:
    area_m2: np.ndarray
    feeder_cm: np.ndarray
    drinker_cm: np.ndarray
    heat: np.ndarray


def needs(area=(0.1, 0.2), feeder=(2.0, 4.0), drinker=(1.0, 1.5), step=28, heat_days=35, days=70):
    age = np.arange(days)
    early = age < step
    return Arrays(*(np.where(early, *pair) for pair in (area, feeder, drinker)), heat=age < heat_days)


def day(number):
    """Day `number` after the layers' hatch day, which is the window's first day."""
    return APRIL.day(number)


BROODER = Room("brooder", "Brooder 2", area_m2=5.0, heated=True)
PEN = Room("pen", "Pen 1", area_m2=12.0, rest_days=14)
PADDOCK = Room("paddock", "Paddock 1", area_m2=400.0, indoor=False, rest_days=28)
ROOMS = (BROODER, PEN, PADDOCK)

LAYERS = Group("layers", "Reds", "chicken", day(0), needs(), "40 layer chicks hatched 12 April")
LATER = Group("later", "Later reds", "chicken", day(10), needs(), "20 layer chicks hatched 22 April")
POULTS = Group("poults", "Bronze", "turkey", day(0), needs(), "10 poults hatched 12 April")
DUCKS = Group("ducks", "Pekins", "duck", day(0), needs(), "12 ducklings hatched 12 April")
GROUPS = (LAYERS, LATER, POULTS, DUCKS)


def stay(group, room, start, end, birds, window=APRIL, override=False, key=""):
    """Birds of a group in a room from day `start` up to day `end` (None: open); the count may be an array."""
    first, last = day(start), None if end is None else day(end)
    counts = np.zeros(window.days, dtype=np.int64)
    inside = window.clip(first, last)
    if inside:
        counts[inside] = birds
    return Part(key or f"{group.key}@{room.key}", group.key, room.key, first, last, counts, override)


def load(*parts, rooms=ROOMS, groups=GROUPS, window=APRIL):
    return occupancy(window, rooms, groups, parts)


def found(*parts, kind=None, unhoused=None, apart=(), **world):
    """The breaches of these stays, of one kind if it is named."""
    judged = breaches(load(*parts, **world), unhoused=unhoused, apart=apart)
    return [breach for breach in judged if kind in (None, breach.kind)]


def only(breaches):
    (breach,) = breaches
    return breach


def rooms(**changes):
    """The farm's rooms with some replaced: rooms(brooder={"area_m2": 2.0})."""
    return tuple(replace(room, **changes.get(room.key, {})) for room in ROOMS)


def before(count):
    return timedelta(days=-count)
