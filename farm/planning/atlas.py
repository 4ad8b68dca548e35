"""Every batch's choices, made when first asked for: the lanes and loads of its parts, and the least they cost."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from heapq import heapify, heappop, heapreplace
from typing import NamedTuple

import numpy as np

from farm.planning import insert, lanes
from farm.planning.fewest import Fewest
from farm.planning.ground import Ground
from farm.planning.insert import Leg
from farm.planning.lanes import NOWHERE, Lane
from farm.planning.loads import Ints, load
from farm.planning.state import Entry, State

Sizes = tuple[int, ...]


class Portion(NamedTuple):
    """One part of a placed batch: how many birds, its lane, its legs through it, and what those cost by themselves.

    stays: its past and its legs as they stand in a `State`, each with what it asks by resource over its columns.
    """

    birds: int
    lane: Lane
    legs: tuple[Leg, ...]
    standing: int
    stays: tuple[tuple[Entry, list[Ints]], ...]


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
        self._floor: dict[tuple[int, Sizes], int] = {}
        self._least: dict[tuple[int, tuple[Sizes, ...]], int] = {}
        self._fewest = Fewest(ground)
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
        asked, cold = self.loads(batch, birds, lane)
        own = standing(self.ground, lane, legs, asked, cold)
        return Portion(birds, lane, legs, own, self.stays(batch, birds, lane, legs))

    def stays(
        self, batch: int, birds: int, lane: Lane, legs: Sequence[Leg]
    ) -> tuple[tuple[Entry, list[Ints]], ...]:
        """Return a part's stays in housing with what each asks, by resource."""
        found, first, asked = [], lane.first, self.loads(batch, birds, lane)[0]
        for entry in entries(self.ground, batch, lane, legs):
            if entry.start >= first:
                over = [each[entry.start - first : entry.stop - first] for each in asked]
            else:
                given = self.ground.batches[batch]
                over = self.ground.loads(given, birds, lane.arrival, entry.start, entry.stop)
            found.append((entry, over))
        return tuple(found)

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

    def tries(
        self, batch: int, options: Sequence[Sizes], enough: Callable[[int], bool] = lambda least: False
    ) -> Iterator[tuple[int, int, int]]:
        """Yield (least cost alone, rank of the sizes, arrival) in order, each looked at only when its turn may come.

        enough(least): whether to end, as everything still to come costs at least that.
        """
        # A 1 marks what is known: at equal cost, what is still to be looked at goes first.
        queue = []
        for rank, sizes in enumerate(options):
            for arrival in self.arrivals[batch]:
                known = self._alone.get((batch, sizes, arrival))
                least = self.floor(batch, sizes, arrival) if known is None else known
                queue.append((least, int(known is not None), rank, arrival))
        heapify(queue)
        while queue and not enough(queue[0][0]):
            least, known, rank, arrival = queue[0]
            if known:
                heappop(queue)
                yield least, rank, arrival
            else:
                heapreplace(queue, (self.alone(batch, options[rank], arrival), 1, rank, arrival))

    def least(self, batch: int, options: Sequence[Sizes]) -> int:
        """Return the least a batch costs alone in parts of one of these sizes, whenever it arrives."""
        key = (batch, tuple(options))
        found = self._least.get(key)
        if found is None:
            found = self._least[key] = next(self.tries(batch, options))[0]
        return found

    def floor(self, batch: int, sizes: Sizes, arrival: int) -> int:
        """Return a bound on `alone` that takes no look at the days of this arrival; 0 where something is fixed."""
        given = self.ground.batches[batch]
        if self.fixed[batch] or given.history:
            return 0
        found = self._floor.get((batch, sizes))
        if found is None:
            found = self.split_price(batch, sizes)
            for birds in sizes:
                found += self._fewest.price(given, birds, self.arrivals[batch])
            self._floor[batch, sizes] = found
        return found + abs(arrival - self.ground.days.index(given.arrival.day)) * self.ground.weights.arrival

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
