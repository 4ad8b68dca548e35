"""What does not fit where a trial gives a housing more or less floor for some days only.

The board's judges know a housing by one size; these few are judged by what they give day by day.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from farm.planning import suits
from farm.planning.breach import Breach, worst_runs
from farm.planning.occupancy import Occupancy
from farm.planning.premises import TOLERANCE
from farm.planning.problem import Problem

#: Kind of breach -> what is asked and given in an `Occupancy`, and how many of a problem's units make one of its.
MEASURES = {
    "room": ("area_asked_m2", "area_m2", 100),
    "feeder": ("feeder_asked_cm", "feeder_cm", 10),
    "drinker": ("drinker_asked_cm", "drinker_cm", 10),
}


def fill(load: Occupancy, problem: Problem) -> None:
    """Write into the load's tables what housings with steps in their size give on each day."""
    for housing in problem.housings:
        if housing.changes:
            given = suits.given(housing, load.window)
            for values, (_asked, name, unit) in zip(given, MEASURES.values(), strict=True):
                getattr(load, name)[load.row[housing.key]] = values / unit


def judged(load: Occupancy, problem: Problem, breaches: tuple[Breach, ...]) -> tuple[Breach, ...]:
    """Return the breaches with those of housings with steps in their size judged anew, by day."""
    stepped = [housing.key for housing in problem.housings if housing.changes]
    if not stepped:
        return breaches
    kept = [one for one in breaches if not (one.room in stepped and one.kind in MEASURES)]
    found = [one for key in stepped for one in _too_small(load, key)]
    return tuple(sorted(kept + found, key=lambda one: (one.start, one.room or "", one.kind, one.groups)))


def _too_small(load: Occupancy, key: str) -> Iterator[Breach]:
    row = load.row[key]
    for kind, (asks, gives, _unit) in MEASURES.items():
        asked, given = getattr(load, asks)[row], getattr(load, gives)[row]
        # An edge of 0 is not recorded; a floor of 0 is a housing that is closed for these days.
        short = asked - given if kind == "room" else np.where(given > 0, asked - given, 0.0)
        for run in worst_runs(short, TOLERANCE):
            there = {part.group for part in load.parts if part.room == key and part.birds[run.worst] > 0}
            birds = math.ceil(run.short * int(load.birds[row, run.worst]) / float(asked[run.worst]))
            yield run.breach(load.window, kind, key, tuple(sorted(there)), birds)
