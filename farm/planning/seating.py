"""What no plan can avoid on one day: everyone who must be there seated anew, history, moves and rest days forgotten.

Every plan of the problem seats that day's birds somehow, under the day's rules; so a day's least shortage here is a
lower bound for it in every plan. What a plan lacks beyond it may still be necessary: then only nothing better was
found.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np

from farm.planning import suits
from farm.planning.exact import cliques
from farm.planning.exact.model import SAFETY, Model
from farm.planning.ground import Classes
from farm.planning.loads import MM2_PER_DM2, leave_day, load
from farm.planning.problem import Batch, Housing, Problem
from farm.planning.solution import Solution
from farm.planning.tables import Tables, tables
from farm.planning.window import Window


@dataclass(frozen=True)
class Seating:
    """What is proved about one day. dm2: floor that every plan lacks; birds: at least so many lack some of theirs."""

    day: date
    dm2: int
    birds: int


class Guest(NamedTuple):
    """A batch as it would be on the day after one of its arrivals: what it asks for whole, and what one bird does."""

    batch: Batch
    hatch: int
    age: int
    brooding: bool
    area_dm2: int
    birds: int
    each_mm2: int


class Seat(NamedTuple):
    """A guest in a housing; column: chosen or not."""

    guest: Guest
    column: int
    pinned: bool


def short_by_day(table: Tables) -> np.ndarray:
    """Return the dm² of floor a plan lacks on each day of its span, those of birds nowhere among them."""
    over: np.ndarray = np.maximum(table.area - table.area_given, 0).sum(axis=0) + table.nowhere_area
    return over


def unavoidable(problem: Problem, solution: Solution, seconds: float = 2.0) -> Mapping[date, Seating]:
    """Return, for every day the plan lacks floor on, what every plan would lack; seconds: at most, for each day."""
    table = tables(problem, solution.plans)
    days = [table.days.day(int(at)) for at in np.flatnonzero(short_by_day(table))]
    known: dict[tuple[object, ...], int] = {}
    return {day: _seat(problem, day, seconds, known) for day in days}


def seat(problem: Problem, day: date, seconds: float = 2.0) -> Seating:
    """Return the least floor any plan lacks on a day. Batches that need not be here that day are left out."""
    return _seat(problem, day, seconds, {})


def _seat(problem: Problem, day: date, seconds: float, known: dict[tuple[object, ...], int]) -> Seating:
    table = _Table(problem, day)
    parties = [list(_guests(batch, day)) for batch in problem.batches]
    present = [party for party in parties if party and None not in party]
    for party in present:
        table.invite([guest for guest in party if guest is not None])
    table.close()
    # Days on which everyone asks for the same are one model.
    alike = table.model.signature
    if alike not in known:
        bound = table.model.run(seconds).bound
        known[alike] = max(math.ceil(bound - SAFETY), 0) if math.isfinite(bound) else 0
    dm2 = known[alike]
    largest = max((guest.each_mm2 for party in present for guest in party if guest), default=1)
    return Seating(day, dm2, -(-dm2 * MM2_PER_DM2 // largest))


def _guests(batch: Batch, day: date) -> Iterator[Guest | None]:
    """Yield the batch as it is on the day after each arrival, None for an arrival that has it elsewhere in time."""
    for arrival in batch.arrival.days():
        gone = leave_day(batch, arrival)
        if day < arrival or (gone is not None and day >= gone):
            yield None
            continue
        age = (day - arrival).days + batch.age_at_arrival_days
        asks = load(batch, batch.birds, np.array([age]))
        each = batch.demand.area_mm2[min(age, len(batch.demand.area_mm2) - 1)]
        hatch = arrival.toordinal() - batch.age_at_arrival_days
        # Heat may come and go by a table; it is over with the last day that asks for it.
        brooding = any(batch.demand.heat[min(age, len(batch.demand.heat) - 1) :])
        yield Guest(batch, hatch, age, brooding, int(asks.area_dm2[0]), int(asks.birds[0]), each)


class _Table:
    """The model of one day, guest by guest."""

    def __init__(self, problem: Problem, day: date) -> None:
        self.problem, self.day, self.window = problem, day, Window(day, 1)
        self.model, self.classes = Model(), Classes(problem)
        self.given = [int(suits.given(housing, self.window)[0][0]) for housing in problem.housings]
        self.seats: list[list[Seat]] = [[] for _ in problem.housings]
        self.loads: list[dict[int, float]] = [{} for _ in problem.housings]

    def invite(self, party: Sequence[Guest]) -> None:
        """Seat a batch: one of its guests, whole in one housing or nowhere, or its birds in the parts it may be in."""
        batch = party[0].batch
        held, whole = _held(self.problem, batch, self.day)
        parts = max(batch.max_parts, len(batch.parts), 1)
        chosen = [(guest, self.model.column(whole=True)) for guest in party]
        self.model.row({column: 1 for _, column in chosen}, 1, 1)
        for guest, column in chosen:
            choices = {
                at: housing.key in held for at, housing in enumerate(self.problem.housings)
                if housing.key in held or (not (held and whole) and self._suits(guest, housing))
            }  # fmt: skip
            if parts > 1:
                self._in_parts(guest, column, choices, parts)
                continue
            seats = {at: self._seat(at, guest, kept) for at, kept in choices.items()}
            for at, taken in seats.items():
                self.loads[at][taken] = guest.area_dm2
            nowhere = self.model.column(guest.area_dm2)
            self.model.row({**dict.fromkeys(seats.values(), 1), nowhere: 1, column: -1}, 0, 0)

    def _in_parts(self, guest: Guest, column: int, choices: Mapping[int, bool], parts: int) -> None:
        """Birds of a batch in parts: as many as fit in each; rounding up by part is left out, on the safe side."""
        each = guest.each_mm2 / MM2_PER_DM2
        nowhere = self.model.column(each, high=guest.birds)
        shared: dict[int, float] = {nowhere: 1, column: -guest.birds}
        seats = {at: self._seat(at, guest, kept) for at, kept in choices.items()}
        for at, taken in seats.items():
            birds = self.model.column(high=guest.birds)
            self.model.row({birds: 1, taken: -guest.birds}, high=0)
            self.model.row({taken: 1, column: -1}, high=0)
            self.loads[at][birds] = each
            shared[birds] = 1
        self.model.row(shared, 0, 0)
        if seats:
            self.model.row({**dict.fromkeys(seats.values(), 1), column: -parts}, high=0)

    def close(self) -> None:
        """Add what the housings give and whom they keep apart."""
        for at, housing in enumerate(self.problem.housings):
            if self.loads[at]:
                short = self.model.column(1, high=float("inf"))
                self.model.row({**self.loads[at], short: -1}, high=self.given[at])
            parted = self._parted(housing)
            for group in cliques.cover(self.seats[at], parted, lambda seat: seat.guest.batch.key):
                self.model.row({seat.column: 1 for seat in group}, high=1)

    def _seat(self, at: int, guest: Guest, pinned: bool) -> int:
        column = self.model.column(whole=True)
        self.seats[at].append(Seat(guest, column, pinned))
        return column

    def _suits(self, guest: Guest, housing: Housing) -> bool:
        ages = np.array([guest.age])
        return bool(
            suits.suitable(guest.batch, housing, ages, self.window)[0]
            and suits.warm(guest.batch, housing, ages)[0]
        )

    def _parted(self, housing: Housing) -> Callable[[Seat, Seat], bool]:
        gap = housing.max_age_gap_days

        def parted(one: Seat, other: Seat) -> bool:
            if one.guest.batch.key == other.guest.batch.key:
                return one.guest is not other.guest
            if one.pinned and other.pinned:
                return False
            if housing.one_batch or (gap is not None and abs(one.guest.hatch - other.guest.hatch) > gap):
                return True
            own = self.classes.index(one.guest.batch.species, one.guest.brooding)
            return self.classes.parted(own, other.guest.batch.species, other.guest.brooding)

        return parted


def _held(problem: Problem, batch: Batch, day: date) -> tuple[frozenset[str], bool]:
    """Return the housings that pins or the past hold the batch or parts of it in, and whether they hold all of it."""
    pins = [pin for pin in problem.pins if pin.batch == batch.key and pin.start <= day < pin.end]
    past = [stay for stay in batch.history if stay.start <= day < stay.end]
    found = [(pin.housing, pin.part) for pin in pins] + [(stay.housing, stay.part) for stay in past]
    return frozenset(housing for housing, _ in found), all(not part for _, part in found)
