"""The largest batch that finds a way through a plan without disturbing it, for many arrival days at once.

A way is worth what its narrowest day allows, and the best way is the widest: with N(u, k) how many birds day k of life
lets into housing u,

    W(u, k) = min( max( W(u, k - 1) staying, max over v of W(v, k - 1) moving ), N(u, k) ).

All arrivals take day k together, so one pass over the days of a life answers a year. N is the exact inverse of the
load's two roundings: n birds fit there and n + 1 do not. With every value travels the cell that set it: numbers are
kept as `value << BITS | cell`, so that comparing them compares the values first. Where a housing suits the birds' age,
its cells count above the others of that day: of ways that end on the same day, the one named is one that might have
gone on. A housing that never takes the birds is no way at all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from farm.planning import suits
from farm.planning.ground import FAR
from farm.planning.loads import DAYS_PER_WEEK, MM2_PER_DM2, UM_PER_MM, Bools, Ints, leave_day
from farm.planning.problem import Batch
from farm.planning.state import State
from farm.planning.window import Window

BITS = 26
CELLS = 1 << BITS
MOST = 1 << 34
UNBOUNDED = MOST << BITS | (CELLS - 1)


@dataclass(frozen=True, slots=True, eq=False)
class Widest:
    """By arrival: the largest batch, and the (row, column) that keeps it from being larger.

    unserved: the first age in days no housing ever takes the birds at, -1 where there is none. row: -1 where no housing
    takes them at any age.
    """

    birds: Ints
    row: Ints
    column: Ints
    unserved: Ints


def ways(state: State, batch: Batch, first: int, days: int, held: Ints | None = None) -> Widest:
    """Return the widest way of a batch like `batch` for every arrival on columns [first, first + days).

    held: for each arrival, the first column on which it may be outdoors; None holds none back.

    The state must reach to the end of every life asked about; a batch that never leaves is judged to the state's end.
    """
    taken = _Pass(state, batch, first, days, held)
    rows, none = state.ground.shape[0], np.full(days, -1, dtype=np.int64)
    if not taken.able.any():
        columns = np.arange(first, first + days)
        return Widest(np.zeros(days, dtype=np.int64), none, columns, none + 1 + batch.age_at_arrival_days)
    found = taken.run()
    cell = found & (CELLS - 1)
    return Widest(found >> BITS, cell % rows, cell // (2 * rows), taken.unserved())


def life_days(batch: Batch, arrival_column: int, state: State) -> int:
    """Return how many days a batch that arrives on a column is here, up to the state's end."""
    arrival = state.ground.days.day(arrival_column)
    leaves = leave_day(batch, arrival)
    end = state.ground.width if leaves is None else min(state.ground.days.index(leaves), state.ground.width)
    return max(end - arrival_column, 0)


class _Pass:
    """One pass over the days of a life; arrays are housing × arrival."""

    def __init__(self, state: State, batch: Batch, first: int, days: int, held: Ints | None) -> None:
        self.state, self.ground, self.batch, self.first, self.days = state, state.ground, batch, first, days
        self.life = np.array([life_days(batch, first + at, state) for at in range(days)])
        self.leaves = leave_day(batch, self.ground.days.day(first)) is not None
        self.ages = np.arange(int(self.life.max(initial=0))) + batch.age_at_arrival_days
        self.hatch = np.arange(first, first + days) - batch.age_at_arrival_days
        self.by_age, self.by_day = self._suitable()
        self.outside = np.array([not housing.indoor for housing in self.ground.housings])
        self.held = held
        self.able: Bools = np.logical_or.reduce(self.by_age, axis=1)
        heat = np.array(batch.demand.heat)[np.clip(self.ages, 0, len(batch.demand.heat) - 1)]
        self.brooding = int(np.flatnonzero(heat)[-1]) + 1 if heat.any() else 0
        self.grown = self.ground.classes.index(batch.species, False)
        self.young = self.ground.classes.index(batch.species, True)
        rows = self.ground.shape[0]
        columns = np.arange(self.ground.width + 1)
        #: The code of every cell; the day after the last has one too, for the rest after leaving.
        self.code: Ints = columns[None, :] * 2 * rows + np.arange(rows)[:, None]
        self.cuts = self._cuts()

    def run(self) -> Ints:
        batch, shape = self.batch, (self.ground.shape[0], self.days)
        found = np.where(self.life > 0, -1, UNBOUNDED).astype(np.int64)
        begun = self._enter(0, np.full(self.days, UNBOUNDED, dtype=np.int64))
        free, first_stay = np.full(shape, -1, dtype=np.int64), begun
        ripening = [begun]
        for day in range(len(self.ages)):
            if day:
                entered = self._enter(day, self._leave(day, free).max(axis=0))
                ripening.append(np.where(self.cuts[day], entered, -1))
            capacity = self._capacity(day)
            free, first_stay = np.minimum(free, capacity), np.minimum(first_stay, capacity)
            ripening = [np.minimum(stay, capacity) for stay in ripening]
            if len(ripening) >= batch.min_stay_days:
                free = np.maximum(free, ripening.pop(0))
            over = self.life == day + 1
            if over.any():
                # The only stay of a life may be shorter than others.
                last = (
                    self._leave(day + 1, np.maximum(free, first_stay))
                    if self.leaves
                    else np.maximum(free, first_stay)
                )
                found = np.where(over, last.max(axis=0), found)
        return found

    def unserved(self) -> Ints:
        """Return by arrival the first age in a life at which no housing suits, -1 where there is none."""
        bare = np.flatnonzero(~self.by_age.any(axis=0))
        first = int(bare[0]) if len(bare) else FAR
        return np.where(first < self.life, first + self.batch.age_at_arrival_days, -1)

    def _cells(self, day: int) -> Ints:
        """Return the code of every housing on a day of life, or on the day after the last."""
        rows = self.ground.shape[0]
        suits_age = self.by_age[:, min(day, len(self.ages) - 1), None] if len(self.ages) else False
        return self._padded(self.code, day, 0) + suits_age * rows

    def _columns(self, day: int) -> slice:
        return slice(self.first + day, self.first + day + self.days)

    def _suitable(self) -> tuple[Bools, Bools]:
        """Return where the batch may live by age (housing × age) and by day (housing × column): both must hold."""
        ground, batch = self.ground, self.batch
        age_only = replace(batch, outdoors_from=None)
        window = Window(ground.problem.start, max(len(self.ages), 1))
        ages = self.ages if len(self.ages) else np.zeros(1, dtype=np.int64)
        always = [replace(housing, in_service_from=None, in_service_to=None) for housing in ground.housings]
        by_age = [
            suits.suitable(age_only, housing, ages, window) & suits.warm(batch, housing, ages)
            for housing in always
        ]
        by_day = np.array([suits.in_service(housing, ground.days) for housing in ground.housings])
        if batch.outdoors_from is not None:
            outside = np.array([not housing.indoor for housing in ground.housings])
            early = np.arange(ground.width) < ground.days.index(batch.outdoors_from)
            by_day &= ~(outside[:, None] & early[None, :])
        return np.array(by_age), by_day

    def _fits(self, day: int) -> Bools:
        columns = self._columns(day)
        found = np.zeros((self.ground.shape[0], self.days), dtype=np.bool_)
        inside = self.by_day[:, columns]
        found[:, : inside.shape[1]] = self.by_age[:, day, None] & inside
        if self.held is not None:
            early = self.first + day + np.arange(self.days) < self.held
            found &= ~(self.outside[:, None] & early[None, :])
        return found

    def _cuts(self) -> list[Bools]:
        """Return, for each day of life, the arrivals that may move on it: the move points of `lanes`."""
        fits = [self._fits(day) & (day < self.life) for day in range(len(self.ages))]
        ever = np.logical_or.reduce(fits) if fits else np.zeros(0)
        changed = np.zeros(self.ground.shape, dtype=np.bool_)
        changed[:, 1:] = self.ground.area[:, 1:] != self.ground.area[:, :-1]
        found = []
        for day in range(len(self.ages)):
            cut = self._padded(self.ground.welcome[None, :], day, False)[0]
            cut = cut | (self._padded(changed, day, False) & ever).any(axis=0)
            if day:
                cut |= (fits[day] != fits[day - 1]).any(axis=0)
            found.append(cut)
        return found

    def _padded(self, table: np.ndarray, day: int, beyond: int | bool) -> np.ndarray:
        """Return a table's columns of a day of life; arrivals whose day lies beyond the table get `beyond`."""
        inside = table[:, self._columns(day)]
        missing = self.days - inside.shape[1]
        return np.pad(inside, ((0, 0), (0, missing)), constant_values=beyond) if missing else inside

    def _capacity(self, day: int) -> Ints:
        """Return how many birds each cell lets in, with its code."""
        age = int(self.ages[day])
        birds = np.full((self.ground.shape[0], self.days), MOST - 1, dtype=np.int64)
        for at, resource in enumerate(self.ground.resources):
            room = np.maximum(self._padded(self.state.free[at], day, 0), 0)
            np.minimum(birds, self._fit(resource.field, age, room), out=birds)
        fits = self._fits(day)
        if self.state.ruled:
            kind = self.young if day < self.brooding else self.grown
            fits &= self._padded(self.state.low[kind], day, -FAR) <= self.hatch
            fits &= self._padded(self.state.high[kind], day, FAR) >= self.hatch
        birds[~fits] = 0
        found = birds << BITS | self._cells(day)
        found[~self.able] = -1
        return found

    def _fit(self, field: str, age: int, room: Ints) -> Ints:
        """Return the most birds whose load, rounded up as `loads` does, is within `room`."""
        batch, unit = self.batch, MM2_PER_DM2 if field == "area_dm2" else UM_PER_MM
        table = {
            "area_dm2": batch.demand.area_mm2,
            "feeder_mm": batch.demand.feeder_um,
            "drinker_mm": batch.demand.drinker_um,
        }
        each = table[field][min(age, len(table[field]) - 1)]
        if each == 0:
            return np.full(room.shape, MOST - 1, dtype=np.int64)
        alive: Ints = room * unit // each
        if batch.survivors:
            kept = batch.survivors[min(age // DAYS_PER_WEEK, len(batch.survivors) - 1)]
            alive = np.minimum(alive, MOST // batch.birds) * batch.birds // kept
        return np.minimum(alive, MOST - 1)

    def _enter(self, day: int, value: Ints) -> Ints:
        """Return the value of having entered each housing on a day of life, 0 where a rest forbids it."""
        blocked = self._padded(self.state.entry[self.grown], day, 0) > 0
        return np.where(blocked, np.minimum(self._cells(day), value), value)

    def _leave(self, day: int, value: Ints) -> Ints:
        blocked = self._padded(self.state.exit[self.grown], day, 0) > 0
        return np.where(blocked, np.minimum(self._cells(day), value), value)


def horizon(batches: tuple[Batch, ...], start_column: int, days: int) -> int:
    """Return how many columns a state needs for arrivals on [start_column, start_column + days) of these batches."""
    stays = [
        each.leave_age_days - each.age_at_arrival_days for each in batches if each.leave_age_days is not None
    ]
    return start_column + days + max(stays, default=0)
