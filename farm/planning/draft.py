"""A plan in the making: every batch either placed or reserved, and what the whole costs, kept exact.

A *reserved* batch holds only what is fixed about it, its past and its pins, so that nobody takes a pinned place while
the batch itself is out.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import NamedTuple

import numpy as np

from farm.planning import insert, lanes
from farm.planning.ground import Ground
from farm.planning.insert import Leg, Shun
from farm.planning.lanes import NOWHERE, Lane
from farm.planning.loads import Ints, load
from farm.planning.state import Entry, State

Sizes = tuple[int, ...]


class Portion(NamedTuple):
    """One part of a placed batch: how many birds, its lane, its legs through it, and what those cost by themselves."""

    birds: int
    lane: Lane
    legs: tuple[Leg, ...]
    standing: int


class Placement(NamedTuple):
    """Where all parts of a batch go for one arrival column."""

    arrival: int
    portions: tuple[Portion, ...]

    @property
    def sizes(self) -> Sizes:
        """Return the birds of each part."""
        return tuple(portion.birds for portion in self.portions)


class Found(NamedTuple):
    """A placement, and what it adds to the cost of the plan."""

    cost: int
    placement: Placement


class Atlas:
    """Lanes and loads of every part, made when first asked for, and each batch's choices."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self._lanes: dict[tuple[object, ...], Lane] = {}
        self._loads: dict[tuple[int, int, int], tuple[list[Ints], Ints]] = {}
        self._alone: dict[tuple[int, Sizes, int], int] = {}
        self._empty = State(ground, spare=0)
        index = ground.days.index
        self.arrivals = [[index(day) for day in batch.arrival.days()] for batch in ground.batches]
        self.whole: list[Sizes] = [
            tuple(part.birds for part in batch.parts) or (batch.birds,) for batch in ground.batches
        ]
        pinned = {pin.batch for pin in ground.problem.pins} | set(ground.adopted)
        self._own = [batch.key in pinned or bool(batch.history) for batch in ground.batches]
        self.fixed = [batch.key in {pin.batch for pin in ground.problem.pins} for batch in ground.batches]

    def key(self, batch: int, place: int) -> str:
        """Return the key of a batch's part of this rank."""
        parts = self.ground.batches[batch].parts
        return parts[place].key if parts else str(place + 1)

    def lane(self, batch: int, place: int, arrival: int) -> Lane:
        """Return the lane of a part; batches that are alike and have nothing fixed share theirs."""
        given = self.ground.batches[batch]
        shift = abs(arrival - self.ground.days.index(given.arrival.day)) if place == 0 else 0
        alike: tuple[object, ...] = (
            (batch, place)
            if self._own[batch]
            else (
                given.species, given.stages, given.demand.heat, given.forbidden, given.age_at_arrival_days,
                given.leave_age_days, given.leaves, given.outdoors_age_days, given.outdoors_from, given.min_stay_days,
                shift,
            )
        )  # fmt: skip
        found = self._lanes.get((alike, arrival))
        if found is None:
            found = lanes.make(self.ground, given, self.key(batch, place), place, arrival)
            self._lanes[alike, arrival] = found
        return found

    def loads(self, batch: int, birds: int, lane: Lane) -> tuple[list[Ints], Ints]:
        """Return what a part asks by resource over its lane's columns, and its birds that need heat."""
        key = (batch, birds, lane.arrival)
        found = self._loads.get(key)
        if found is None:
            given = self.ground.batches[batch]
            ages = np.arange(lane.first, lane.end) - lane.arrival + given.age_at_arrival_days
            asked = load(given, birds, ages)
            found = [getattr(asked, resource.field) for resource in self.ground.resources], asked.cold
            self._loads[key] = found
        return found

    def portion(self, batch: int, birds: int, lane: Lane, legs: tuple[Leg, ...]) -> Portion:
        """Return a part of a batch on its legs."""
        return Portion(birds, lane, legs, standing(self.ground, lane, legs, *self.loads(batch, birds, lane)))

    def alone(self, batch: int, sizes: Sizes, arrival: int) -> int:
        """Return the least these parts cost on an empty farm: no plan has them for less."""
        key = (batch, sizes, arrival)
        found = self._alone.get(key)
        if found is None:
            found = self.split_price(batch, sizes)
            for place, birds in enumerate(sizes):
                lane = self.lane(batch, place, arrival)
                found += insert.best(self._empty, lane, *self.loads(batch, birds, lane)).cost
            self._alone[key] = found
        return found

    def most_parts(self, batch: int) -> int:
        """Return into how many parts a batch may be put: birds that must stay where they are now stay together."""
        given = self.ground.batches[batch]
        if given.parts:
            return len(given.parts)
        held = any(past.end > self.ground.problem.start for past in given.history)
        return 1 if held else min(given.max_parts, given.birds)

    def split_price(self, batch: int, sizes: Sizes) -> int:
        """Return the price of the parts beyond those the batch is in already."""
        return (len(sizes) - len(self.whole[batch])) * self.ground.weights.splits


class Draft:
    """The state of the farm with a placement for some batches, and `cost`, right up to a constant for all plans."""

    def __init__(self, atlas: Atlas) -> None:
        self.atlas, self.ground = atlas, atlas.ground
        self.state = State(self.ground)
        self.cost = 0
        self.placed: list[Placement | None] = [None] * len(self.ground.batches)
        #: For a batch that was found better in parts, the sizes to try beside the whole.
        self.split: dict[int, Sizes] = {}
        for batch in range(len(self.placed)):
            self.cost += self.reserve(batch, 1)

    def insert(self, batch: int, chance: Random | None = None) -> None:
        """Place a batch the cheapest way there is now; with `chance`, kept out of somewhere drawn from it."""
        self.put(batch, self.best(batch, chance).placement)

    def best(self, batch: int, chance: Random | None = None) -> Found:
        """Return the cheapest placement of a batch that is out, over its arrivals and sizes; ties to the earlier tried."""
        atlas = self.atlas
        options = [atlas.whole[batch]]
        if batch in self.split:
            options.append(self.split[batch])
        tries = sorted(
            (atlas.alone(batch, sizes, arrival), rank, arrival)
            for rank, sizes in enumerate(options)
            for arrival in atlas.arrivals[batch]
        )
        if chance is not None:
            tries = [tries[int(len(tries) * chance.random() ** 2)]]
        self.cost += self.reserve(batch, -1)
        found: Found | None = None
        for least, rank, arrival in tries:
            if found is not None and least >= found.cost:
                break
            tried = self._try(batch, options[rank], arrival, chance)
            if found is None or tried.cost < found.cost:
                found = tried
        self.cost += self.reserve(batch, 1)
        assert found is not None
        return found

    def put(self, batch: int, placement: Placement) -> None:
        """Place a batch that is out."""
        self.cost += self.reserve(batch, -1)
        self.cost += self._enter(batch, placement)
        self.placed[batch] = placement

    def remove(self, batch: int) -> Placement:
        """Take a batch out, leaving what is fixed about it, and return where it was."""
        placement = self.placed[batch]
        assert placement is not None
        self.cost -= self._withdraw(batch, placement)
        self.placed[batch] = None
        self.cost += self.reserve(batch, 1)
        return placement

    def _try(self, batch: int, sizes: Sizes, arrival: int, chance: Random | None = None) -> Found:
        """Return the cheapest ways of parts of these sizes, each after those before it."""
        atlas = self.atlas
        cost, portions = atlas.split_price(batch, sizes), list[Portion]()
        for place, birds in enumerate(sizes):
            lane = atlas.lane(batch, place, arrival)
            loads = atlas.loads(batch, birds, lane)
            shun = None if chance is None else _draw(lane, chance)
            if place:
                with self.state.blind_to(batch):
                    way = insert.best(self.state, lane, *loads, shun)
            else:
                way = insert.best(self.state, lane, *loads, shun)
            cost += way.cost
            portions.append(self.atlas.portion(batch, birds, lane, way.legs))
            if place + 1 < len(sizes):
                self._set(batch, portions[-1], 1)
        for portion in portions[:-1]:
            self._set(batch, portion, -1)
        return Found(cost, Placement(arrival, tuple(portions)))

    def _enter(self, batch: int, placement: Placement) -> int:
        """Put all parts in and return what they add."""
        cost = self.atlas.split_price(batch, placement.sizes)
        for place, portion in enumerate(placement.portions):
            cost += self._add(batch, portion, bool(place))
            self._set(batch, portion, 1)
        return cost

    def _withdraw(self, batch: int, placement: Placement) -> int:
        """Take all parts out, the last one first, and return what they added."""
        cost = self.atlas.split_price(batch, placement.sizes)
        for place, portion in reversed(list(enumerate(placement.portions))):
            self._set(batch, portion, -1)
            cost += self._add(batch, portion, bool(place))
        return cost

    def _add(self, batch: int, portion: Portion, others: bool) -> int:
        """Return what a part adds that is out now. others: whether other parts of the batch are in."""
        lane, legs = portion.lane, portion.legs
        loads, _ = self.atlas.loads(batch, portion.birds, lane)
        cost = lane.constant + portion.standing
        if not others:
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

    def _set(self, batch: int, portion: Portion, sign: int) -> None:
        """Put a part with its past in (1) or take it out (-1)."""
        for entry in entries(self.ground, batch, portion.lane, portion.legs):
            loads = self._over(batch, portion, entry)
            (self.state.place if sign > 0 else self.state.lift)(entry, loads)

    def _over(self, batch: int, portion: Portion, entry: Entry) -> list[Ints]:
        lane = portion.lane
        if entry.start >= lane.first:
            loads, _ = self.atlas.loads(batch, portion.birds, lane)
            return [each[entry.start - lane.first : entry.stop - lane.first] for each in loads]
        return self.ground.loads(
            self.ground.batches[batch], portion.birds, lane.arrival, entry.start, entry.stop
        )

    def reserve(self, batch: int, sign: int) -> int:
        """Put in (or take out) what is fixed about a batch, and return the change of cost.

        Whatever day it comes, its pins must still be free for it: so they are kept for every arrival, the birds' load
        for the one asked for.
        """
        given, changed = self.ground.batches[batch], 0
        if not self.atlas.fixed[batch] and not given.history:
            return 0
        asked = self.ground.days.index(given.arrival.day)
        for arrival in self.atlas.arrivals[batch]:
            for place, birds in enumerate(self.atlas.whole[batch]):
                lane = self.atlas.lane(batch, place, arrival)
                legs = tuple(Leg(*pin) for pin in lane.pins)
                portion = Portion(birds if arrival == asked else 0, lane, legs, 0)
                loads, _ = self.atlas.loads(batch, portion.birds, lane)
                if sign < 0:
                    self._set(batch, portion, -1)
                with self.state.blind_to(batch):
                    changed += sign * self._company(lane, legs, loads)
                if sign > 0:
                    self._set(batch, portion, 1)
        return changed


def _draw(lane: Lane, chance: Random) -> Shun:
    """Draw a housing and a stretch of time for a part to keep out of."""
    row = int(chance.random() * len(lane.rows))
    stretches = len(lane.bounds) - 1
    ends = sorted(int(chance.random() * stretches) for _ in range(2))
    return Shun(row, ends[0], ends[1] + 1)


def standing(ground: Ground, lane: Lane, legs: Sequence[Leg], loads: list[Ints], cold: Ints) -> int:
    """Return what legs cost by themselves, whoever else is there: moves, nowhere, change, pins that do not suit."""
    bound, local = lane.bound_of, lane.row_of
    here = None if lane.since is None else lane.since[0]
    chill, cost = set(lane.chill), 0
    for leg in legs:
        row, first, stop = local[leg.row], bound[leg.start], bound[leg.end]
        part = slice(leg.start - lane.first, leg.end - lane.first)
        cost += int(lane.blank[row, first:stop].sum())
        if leg.row == NOWHERE:
            cost += int(loads[0][part].sum()) * ground.weights.nowhere
        for stretch in range(first, stop) if chill else ():
            if (row, stretch) in chill:
                days = slice(
                    int(lane.bounds[stretch]) - lane.first, int(lane.bounds[stretch + 1]) - lane.first
                )
                cost += int(cold[days].sum()) * ground.weights.cold
        if here is not None and here != row:
            cost += lane.prices[first]
        here = row
    return cost


def entries(ground: Ground, batch: int, lane: Lane, legs: Sequence[Leg]) -> list[Entry]:
    """Return a part's stays in housing, its past among them, stays that go on in one housing joined."""
    given = ground.batches[batch]
    joined: list[list[int]] = []
    for row, start, end in (*lane.past, *legs):
        if joined and joined[-1][0] == row and joined[-1][2] == start:
            joined[-1][2] = end
        else:
            joined.append([row, start, end])
    width = ground.width
    return [
        Entry(
            row=row,
            start=max(start, 0),
            stop=max(min(end, width), 0),
            end=None if end == lane.end and not lane.leaves else end,
            begin=start,
            batch=batch,
            hatch=lane.hatch,
            species=given.species,
            brood_end=lane.brood_end,
        )
        for row, start, end in joined
        if row != NOWHERE
    ]
