"""Large-neighbourhood repair: take out a few batches in each other's way, put each back where it costs least.

The only budget is a number of steps; the temperature falls by steps, chance comes from one generator, and every set is
sorted before something is drawn from it: so the same problem and seed give the same plan on every machine.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from random import Random

import numpy as np

from farm.planning import bounds, greedy, splitting
from farm.planning.atlas import Placement
from farm.planning.draft import Draft

#: Temperature at the first step, in the bill's units (1000 = one move): worse plans are accepted up to about that.
HOTTEST = 500
#: Where much is still to be won, worse plans are accepted up to this share of it.
WINNABLE = 100
MOST_OUT = 8
#: The share of steps whose first batch keeps out of somewhere: repair alone puts everyone where they were best off.
SHY = 0.3
#: How often the batches standing in a shortage are listed anew, and the share of steps that start from them.
LISTING, FROM_SHORTAGE = 25, 0.6
NEAREST = 40

Watch = Callable[[int], bool]


class Repair:
    """One run over a complete draft; the draft ends as the best plan met."""

    def __init__(self, draft: Draft, seed: int, steps: int) -> None:
        self.draft, self.steps = draft, steps
        self.random = Random(seed)
        self.near = Neighbours(draft)
        self.bound = bounds.of(draft.atlas)
        self.best_cost = draft.cost
        self.best: list[Placement | None] = list(draft.placed)
        self.short: list[int] = []
        self.weights = [greedy.weight(draft, batch) for batch in range(len(draft.placed))]

    def run(self, watch: Watch) -> int:
        """Take all steps, or until `watch(steps taken)` says False; return how many were taken.

        `watch` is asked after every step; the best plan so far is in `best`.
        """
        taken = 0
        while taken < self.steps and self.draft.placed:
            if taken % LISTING == 0:
                self.short = standing_short(self.draft)
                splitting.consider(self.draft, self.short, taken // LISTING)
                self._note()
            self.step(taken)
            taken += 1
            if not watch(taken):
                break
        self.restore()
        return taken

    def step(self, number: int) -> None:
        """Take one neighbourhood out and put it back, or undo that."""
        draft = self.draft
        out = self._choose()
        before = draft.cost
        heat = self._hottest() * (1 - number / self.steps) ** 2
        ceiling = before + int(-heat * math.log(1 - self.random.random()))
        old, took, added = dict[int, Placement](), dict[int, int](), dict[int, int]()
        for batch in out:
            took[batch] = draft.cost
            old[batch] = draft.remove(batch)
            took[batch] -= draft.cost
        order = self._order(out)
        least = {batch: self._least(batch) for batch in order}
        owing = sum(least.values())
        done: list[int] = []
        shy = self.random if self.random.random() < SHY else None
        for batch in order:
            # What is still out costs at least what it would on an empty farm.
            if draft.cost + owing > ceiling:
                break
            owing -= least[batch]
            added[batch] = -draft.cost
            draft.insert(batch, shy)
            added[batch] += draft.cost
            shy = None
            done.append(batch)
        if len(done) < len(order) or draft.cost > ceiling:
            # Backwards, everyone leaves and comes as before for the price they came and left for.
            for batch in reversed(done):
                draft.remove(batch, added[batch])
            for batch in reversed(out):
                draft.put(batch, old[batch], took[batch])
            assert draft.cost == before
        self._note()

    def restore(self) -> None:
        """Make the draft the best plan met."""
        for batch, best in enumerate(self.best):
            if self.draft.placed[batch] is not best:
                self.draft.remove(batch)
        for batch, best in enumerate(self.best):
            if self.draft.placed[batch] is None and best is not None:
                self.draft.put(batch, best)
        assert self.draft.cost == self.best_cost

    def _hottest(self) -> float:
        return max(HOTTEST, (self.best_cost - self.bound) / WINNABLE)

    def _note(self) -> None:
        if self.draft.cost < self.best_cost:
            self.best_cost, self.best = self.draft.cost, list(self.draft.placed)

    def _least(self, batch: int) -> int:
        atlas = self.draft.atlas
        options = [atlas.whole[batch], *([self.draft.split[batch]] if batch in self.draft.split else [])]
        return atlas.least(batch, options)

    def _below(self, count: int) -> int:
        return int(self.random.random() * count)

    def _choose(self) -> list[int]:
        seed = self._seed()
        near = self.near.of(seed)
        wanted = 1 + self._below(MOST_OUT)
        out = [seed]
        for _ in range(3 * wanted):
            if len(out) >= wanted or not near:
                break
            other = near[int(len(near) * self.random.random() ** 2)]
            if other not in out:
                out.append(other)
        return out

    def _seed(self) -> int:
        count = len(self.draft.placed)
        if self.short and self.random.random() < FROM_SHORTAGE:
            return self.short[self._below(len(self.short))]
        if self.random.random() < 0.3:
            return self._below(count)
        drawn = [self._below(count) for _ in range(6)]
        return max(drawn, key=lambda batch: (self._excess(batch), -batch))

    def _excess(self, batch: int) -> int:
        """Return how many moves a batch makes."""
        placement = self.draft.placed[batch]
        assert placement is not None
        return sum(len(portion.legs) for portion in placement.portions)

    def _order(self, out: list[int]) -> list[int]:
        way = self._below(3)
        if way == 0:
            return sorted(out, key=lambda batch: (-self.weights[batch], batch))
        order = list(out)
        if way == 1:
            for last in range(len(order) - 1, 0, -1):
                other = self._below(last + 1)
                order[last], order[other] = order[other], order[last]
        return order


def standing_short(draft: Draft) -> list[int]:
    """Return the batches that are nowhere, or in a housing on a day it is short of anything, in order."""
    short = [free < 0 for free in draft.state.free]
    rows = {int(row) for each in short for row in np.flatnonzero(each.any(axis=1))}
    return [
        batch
        for batch, placement in enumerate(draft.placed)
        if placement is not None
        and any(
            leg.row < 0
            or (leg.row in rows and any(each[leg.row, leg.start : leg.end].any() for each in short))
            for portion in placement.portions
            for leg in portion.legs
        )
    ]


class Neighbours:
    """For each batch, others that could live in the same housing at the same time, the nearest in time first."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self._found: dict[int, list[int]] = {}
        self.lives = []
        for batch, given in enumerate(draft.ground.batches):
            lane = draft.atlas.lane(batch, 0, draft.ground.days.index(given.arrival.day))
            mask = sum(1 << int(row) for row in lane.rows)
            self.lives.append((lane.first, lane.end, mask))

    def of(self, batch: int) -> list[int]:
        """Return the neighbours of a batch."""
        found = self._found.get(batch)
        if found is None:
            first, end, mask = self.lives[batch]
            near = [
                (abs(first - other[0]), at)
                for at, other in enumerate(self.lives)
                if at != batch and other[0] < end + 14 and first < other[1] + 14 and other[2] & mask
            ]
            found = self._found[batch] = [at for _, at in sorted(near)[:NEAREST]]
        return found
