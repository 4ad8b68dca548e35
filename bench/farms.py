"""An invented farm of any size, the same for the same seed; its needs are made up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

import numpy as np

from farm.planning.premises import Bools, Floats, Group, Part, Room
from farm.planning.window import Window


@dataclass(frozen=True, eq=False)
class MadeUpNeeds:
    """Arrays by day of age, in steps that rise."""

    area_m2: Floats
    feeder_cm: Floats
    drinker_cm: Floats
    heat: Bools


@dataclass(frozen=True, eq=False)
class Farm:
    """What `occupancy` takes."""

    window: Window
    rooms: tuple[Room, ...]
    groups: tuple[Group, ...]
    parts: tuple[Part, ...]


def farm_year(batches: int = 40, housings: int = 20, days: int = 365, seed: int = 1) -> Farm:
    """Return a farm whose batches each move through three to five rooms, part of them split over two.

    Some batches are kept: their last stay is open.
    """
    random = Random(seed)
    window = Window(date(2031, 1, 1), days)
    rooms = tuple(_room(random, number) for number in range(housings))
    groups = tuple(_group(random, window, number) for number in range(batches))
    parts = [part for group in groups for part in _parts(random, window, rooms, group)]
    return Farm(window, rooms, groups, tuple(parts))


def needs(random: Random, days: int = 140) -> MadeUpNeeds:
    """Return made-up needs for ages 0 to `days` - 1."""
    age = np.arange(days)
    step = np.digitize(age, sorted(random.sample(range(3, days), 5))).astype(np.float64)
    base = random.uniform(0.02, 0.1)
    return MadeUpNeeds(
        area_m2=base * (1.0 + step),
        feeder_cm=2.5 + 1.3 * step,
        drinker_cm=1.3 + 0.6 * step,
        heat=age < random.randint(20, 45),
    )


def _room(random: Random, number: int) -> Room:
    return Room(
        key=f"room-{number:02}",
        name=f"Room {number}",
        area_m2=random.uniform(1, 12),
        feeder_cm=random.choice((0.0, 120.0, 400.0)),
        drinker_cm=random.choice((0.0, 60.0, 200.0)),
        heated=random.random() < 0.5,
        max_age_gap_days=7,
        rest_days=14,
        in_service_from=date(2031, 2, 1) if number % 7 == 0 else None,
    )


def _group(random: Random, window: Window, number: int) -> Group:
    hatch = window.start + timedelta(days=random.randint(-60, window.days - 30))
    species = random.choice(("chicken", "turkey", "duck"))
    return Group(f"batch-{number:02}", f"Batch {number}", species, hatch, needs(random), f"batch {number}")


def _parts(random: Random, window: Window, rooms: tuple[Room, ...], group: Group) -> list[Part]:
    found, start, birds = [], group.hatch_day, random.randint(15, 120)
    legs, kept = random.randint(3, 5), random.random() < 0.4
    for leg in range(legs):
        moved = start + timedelta(days=random.randint(14, 60))
        end = None if kept and leg == legs - 1 else moved
        sides = (birds // 2, birds - birds // 2) if random.random() < 0.4 else (birds,)
        for side, share in enumerate(sides):
            count = np.zeros(window.days, dtype=np.int64)
            columns = window.clip(start, end)
            if columns is not None:
                count[columns] = share
            stay = f"{group.key}/{leg}{'ab'[side]}"
            found.append(Part(stay, group.key, random.choice(rooms).key, start, end, count))
        start, birds = moved, max(1, birds - random.randint(0, 3))
    return found
