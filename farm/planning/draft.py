"""A plan in the making: every batch either placed or reserved, and what the whole costs, kept exact.

A *reserved* batch holds only what is fixed about it, its past and its pins, so that nobody takes a pinned place while
the batch itself is out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from random import Random

import numpy as np

from farm.planning import insert
from farm.planning.atlas import Atlas, Found, Placement, Portion, Sizes, entries
from farm.planning.insert import Leg, Shun
from farm.planning.lanes import NOWHERE, Lane
from farm.planning.loads import Ints
from farm.planning.state import State


class Draft:
    """The state of the farm with a placement for some batches, and `cost`, right up to a constant for all plans."""

    def __init__(self, atlas: Atlas) -> None:
        self.atlas, self.ground = atlas, atlas.ground
        self.state = State(self.ground)
        self.cost = 0
        self.placed: list[Placement | None] = [None] * len(self.ground.batches)
        #: For a batch that was found better in parts, the sizes to try beside the whole.
        self.split: dict[int, Sizes] = {}
        #: Batches whose pins are kept for several arrivals: their own rules must be looked past.
        self.holds: set[int] = set()
        for batch in range(len(self.placed)):
            self._hold(batch)
            self.cost += self.reserve(batch, 1)

    def insert(self, batch: int, chance: Random | None = None) -> None:
        """Place a batch the cheapest way there is now; with `chance`, kept out of somewhere drawn from it."""
        found = self.best(batch, chance)
        # What is fixed about a batch, and what it was kept out of, is in one price and not in the other.
        given = self.atlas.fixed[batch] or self.ground.batches[batch].history or chance is not None
        self.put(batch, found.placement, None if given else found.cost)

    def best(self, batch: int, chance: Random | None = None) -> Found:
        """Return the cheapest placement of a batch that is out, over arrivals and sizes; ties to the first tried."""
        atlas = self.atlas
        options = [atlas.whole[batch]]
        if batch in self.split:
            options.append(self.split[batch])
        found: Found | None = None
        tries: Iterable[tuple[int, int, int]] = atlas.tries(
            batch, options, lambda least: found is not None and least >= found.cost
        )
        if chance is not None:
            every = list(tries)
            tries = [every[int(len(every) * chance.random() ** 2)]]
        self.cost += self.reserve(batch, -1)
        for _, rank, arrival in tries:
            tried = self._try(batch, options[rank], arrival, chance)
            if found is None or tried.cost < found.cost:
                found = tried
        self.cost += self.reserve(batch, 1)
        assert found is not None
        return found

    def put(self, batch: int, placement: Placement, adds: int | None = None) -> None:
        """Place a batch that is out. adds: what that is known to add to the cost; None: it is worked out."""
        after = None if adds is None else self.cost + adds
        self.cost += self.reserve(batch, -1)
        if after is None:
            self.cost += self._enter(batch, placement)
        else:
            self.cost = after
            for portion in placement.portions:
                self._set(portion, 1)
        self.placed[batch] = placement

    def remove(self, batch: int, frees: int | None = None) -> Placement:
        """Take a batch out, leaving what is fixed about it, and return where it was. frees: as `put`'s adds."""
        placement = self.placed[batch]
        assert placement is not None
        after = None if frees is None else self.cost - frees
        if after is None:
            self.cost -= self._withdraw(batch, placement)
        else:
            for portion in reversed(placement.portions):
                self._set(portion, -1)
        self.placed[batch] = None
        self.cost += self.reserve(batch, 1)
        self.cost = self.cost if after is None else after
        return placement

    def _try(self, batch: int, sizes: Sizes, arrival: int, chance: Random | None = None) -> Found:
        """Return the cheapest ways of parts of these sizes, each after those before it."""
        atlas = self.atlas
        cost, portions = atlas.split_price(batch, sizes), list[Portion]()
        for place, birds in enumerate(sizes):
            lane = atlas.lane(batch, place, arrival)
            loads = atlas.loads(batch, birds, lane)
            shun = None if chance is None else _draw(lane, chance)
            if place or batch in self.holds:
                with self.state.blind_to(batch):
                    way = insert.best(self.state, lane, *loads, shun)
            else:
                way = insert.best(self.state, lane, *loads, shun)
            cost += way.cost
            portions.append(self.atlas.portion(batch, birds, lane, way.legs))
            if place + 1 < len(sizes):
                self._set(portions[-1], 1)
        for portion in portions[:-1]:
            self._set(portion, -1)
        return Found(cost, Placement(arrival, tuple(portions)))

    def _enter(self, batch: int, placement: Placement) -> int:
        """Put all parts in and return what they add."""
        cost = self.atlas.split_price(batch, placement.sizes)
        for place, portion in enumerate(placement.portions):
            cost += self._add(batch, portion, bool(place))
            self._set(portion, 1)
        return cost

    def _withdraw(self, batch: int, placement: Placement) -> int:
        """Take all parts out, the last one first, and return what they added."""
        cost = self.atlas.split_price(batch, placement.sizes)
        for place, portion in reversed(list(enumerate(placement.portions))):
            self._set(portion, -1)
            cost += self._add(batch, portion, bool(place))
        return cost

    def _add(self, batch: int, portion: Portion, others: bool) -> int:
        """Return what a part adds that is out now. others: whether other parts of the batch are in."""
        lane, legs = portion.lane, portion.legs
        loads, _ = self.atlas.loads(batch, portion.birds, lane)
        cost = lane.constant + portion.standing
        if not others and batch not in self.holds:
            return cost + self._company(lane, legs, loads)
        with self.state.blind_to(batch):
            return cost + self._company(lane, legs, loads)

    def _company(self, lane: Lane, legs: Sequence[Leg], loads: list[Ints]) -> int:
        first = lane.first
        return sum(
            self.state.marginal(
                leg.row, leg.start, leg.end, [each[leg.start - first : leg.end - first] for each in loads]
            )
            for leg in legs
            if leg.row != NOWHERE
        )

    def _set(self, portion: Portion, sign: int) -> None:
        """Put a part with its past in (1) or take it out (-1)."""
        for entry, loads in portion.stays:
            (self.state.place if sign > 0 else self.state.lift)(entry, loads)

    def reserve(self, batch: int, sign: int) -> int:
        """Put in (or take out) what is fixed about a batch, and return the change of cost."""
        given, changed = self.ground.batches[batch], 0
        if not self.atlas.fixed[batch] and not given.history:
            return 0
        arrival = self.ground.days.index(given.arrival.day)
        for place, birds in enumerate(self.atlas.whole[batch]):
            lane = self.atlas.lane(batch, place, arrival)
            legs = tuple(Leg(*pin) for pin in lane.pins)
            portion = Portion(birds, lane, legs, 0, self.atlas.stays(batch, birds, lane, legs))
            loads, _ = self.atlas.loads(batch, birds, lane)
            if sign < 0:
                self._set(portion, -1)
            with self.state.blind_to(batch):
                changed += sign * self._company(lane, legs, loads)
            if sign > 0:
                self._set(portion, 1)
        return changed

    def _hold(self, batch: int) -> None:
        """Keep the places of a batch's pins for good, for every day it may arrive on: it may yet come that day."""
        arrivals = self.atlas.arrivals[batch]
        if not self.atlas.fixed[batch] or len(arrivals) == 1:
            return
        self.holds.add(batch)
        for arrival in arrivals:
            for place in range(len(self.atlas.whole[batch])):
                lane = self.atlas.lane(batch, place, arrival)
                for entry in entries(self.ground, batch, lane, tuple(Leg(*pin) for pin in lane.pins)):
                    nothing = [np.zeros(entry.stop - entry.start, dtype=np.int64) for _ in self.state.free]
                    self.state.place(entry._replace(held=True), nothing)


def _draw(lane: Lane, chance: Random) -> Shun:
    """Draw a housing and a stretch of time for a part to keep out of."""
    row = int(chance.random() * len(lane.rows))
    stretches = len(lane.bounds) - 1
    ends = sorted(int(chance.random() * stretches) for _ in range(2))
    return Shun(row, ends[0], ends[1] + 1)
