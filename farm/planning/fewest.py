"""What a batch costs at least on any day it may arrive, from its ages alone: quick, to leave arrivals unlooked at.

Over the runs of ages at which the same housings suit, with nowhere as one more place to be, the best way is found by
dynamic programming as `insert` does for days; seasons, capacities, weekdays and company, which only add, are left out.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from farm.planning import suits
from farm.planning.ground import Ground
from farm.planning.loads import Bools, leave_day, load
from farm.planning.problem import Batch, Housing
from farm.planning.window import Window

#: Dearer than any way: a housing that does not suit.
NEVER = 1 << 50


class Fewest:
    """The bounds of a ground's batches; ages of batches that are alike are looked at once."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self._by_age: dict[object, Bools] = {}
        #: Housings that suit the same ages, once each, always in use and nowhere cold but by their own lack of heat.
        self._kinds = tuple({_traits(housing): _timeless(housing) for housing in ground.housings}.values())

    def price(self, batch: Batch, birds: int, arrivals: list[int]) -> int:
        """Return what so many birds of a batch cost at least, on whichever of these columns they arrive.

        Not for a batch with pins or a past: they may put it where its age does not suit.
        """
        days = min(self._life(batch, arrival) for arrival in arrivals)
        if days <= 0:
            return 0
        fits = self._suitable(batch, days)
        ages = np.arange(days) + batch.age_at_arrival_days
        starts = np.concatenate(([0], np.flatnonzero((fits[:, 1:] != fits[:, :-1]).any(axis=0)) + 1))
        weights = self.ground.weights
        out = np.add.reduceat(load(batch, birds, ages).area_dm2, starts) * weights.nowhere
        costs = np.vstack([np.where(fits[:, starts], 0, NEVER), out]).T.tolist()
        here = costs[0]
        for stretch in costs[1:]:
            moved = min(here) + weights.moves
            here = [min(old, moved) + cost for old, cost in zip(here, stretch, strict=True)]
        return int(min(here))

    def _life(self, batch: Batch, arrival: int) -> int:
        leaves = leave_day(batch, self.ground.days.day(arrival))
        end = self.ground.width if leaves is None else min(self.ground.days.index(leaves), self.ground.width)
        return end - arrival

    def _suitable(self, batch: Batch, days: int) -> Bools:
        alike = (
            batch.species, batch.stages, batch.demand.heat, batch.age_at_arrival_days,
            batch.outdoors_age_days, days,
        )  # fmt: skip
        found = self._by_age.get(alike)
        if found is None:
            timeless = replace(batch, outdoors_from=None, forbidden=frozenset())
            ages, window = (
                np.arange(days) + batch.age_at_arrival_days,
                Window(self.ground.problem.start, days),
            )
            rows = [
                suits.suitable(timeless, housing, ages, window) & suits.warm(batch, housing, ages)
                for housing in self._kinds
            ]
            found = self._by_age[alike] = np.array(rows, dtype=np.bool_).reshape(len(rows), days)
        return found


def _traits(housing: Housing) -> tuple[object, ...]:
    return housing.kind, housing.indoor, housing.species, housing.heated


def _timeless(housing: Housing) -> Housing:
    return replace(housing, in_service_from=None, in_service_to=None, changes=())
