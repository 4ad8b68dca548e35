"""What a broken rule is, and the days it lasts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from farm.planning.premises import Bools, Floats
from farm.planning.window import Window

#: Every kind of breach, and what its `short` measures.
KINDS = {
    "room": "m² of floor",
    "feeder": "cm of feeder edge",
    "drinker": "cm of drinker edge",
    "heat": "birds that need heat and have none",
    "age_gap": "days of age over the allowed gap",
    "species": "birds in the wrong company or the wrong housing",
    "one_batch": "batches beyond the first",
    "rest": "rest days still missing on the first day",
    "service": "m² of floor asked of a housing that is out of service",
    "unhoused": "m² of floor asked by birds without a housing",
}


@dataclass(frozen=True, slots=True)
class Breach:
    """One rule broken in one room (None: birds without a room) over the half-open days [start, end).

    groups: keys of the batches concerned, on the worst day. worst: the first day with the largest shortage.
    short: how much is missing that day, in the measure KINDS names. birds: the least number of birds to take
    out so that the rule holds that day.
    """

    kind: str
    room: str | None
    groups: tuple[str, ...]
    start: date
    end: date
    worst: date
    short: float
    birds: int


def runs(days: Bools) -> list[tuple[int, int]]:
    """Return the half-open [first, stop) runs of True, in order."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], days, [False])).astype(np.int8)))
    return [(int(first), int(stop)) for first, stop in zip(edges[::2], edges[1::2], strict=True)]


@dataclass(frozen=True, slots=True)
class Run:
    """A run of broken days of one rule, as columns: first, stop and worst, and the worst shortage."""

    first: int
    stop: int
    worst: int
    short: float

    def breach(
        self, window: Window, kind: str, room: str | None, groups: tuple[str, ...], birds: int
    ) -> Breach:
        """Return the breach this run amounts to."""
        days = (window.day(self.first), window.day(self.stop), window.day(self.worst))
        return Breach(kind, room, groups, *days, short=self.short, birds=birds)


def worst_runs(short: Floats, tolerance: float = 0.0, broken: Bools | None = None) -> list[Run]:
    """Return each run of broken days with its first worst day.

    broken: the days at fault; without it, those on which `short` exceeds `tolerance`.
    """
    found = []
    for first, stop in runs(short > tolerance if broken is None else broken):
        worst = first + int(np.argmax(short[first:stop]))
        found.append(Run(first, stop, worst, float(short[worst])))
    return found
