"""Room in the planner's plan: batches come in one after the other, and nobody who is there has to move."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from farm.planning import chains, insert, lanes, standing, widest
from farm.planning.allotments.records import Wanted
from farm.planning.changes import with_birds
from farm.planning.insert import NOWHERE
from farm.planning.loads import Ints, load
from farm.planning.ordering.records import LATER_DAYS
from farm.planning.problem import Arrival, Batch, Problem
from farm.planning.solution import BatchPlan, PlanPart, PlanStay
from farm.planning.state import Entry

#: Batches taken are numbered from here, after any of the problem's.
FIRST = 1 << 20
#: Arrivals asked about together: one pass over a life answers them all.
BLOCK = 28
#: A shortage weighs so much more than anything else that only a way without any is found, if there is one.
DEAR = 100


@dataclass(frozen=True, eq=False)
class Taken:
    """A batch put in: its stays with their loads, and as a plan says them."""

    stays: tuple[tuple[Entry, tuple[Ints, ...]], ...]
    said: tuple[PlanStay, ...] = ()


def horizon(problem: Problem, wanted: Iterable[Wanted]) -> int:
    """Return how many days a room must reach for lines: no birds of theirs leave later than the last of them may.

    A later hand-over is among the ways tried for a line that nothing else helps.
    """
    return max([problem.days, *((line.to_on - problem.start).days + 1 + LATER_DAYS for line in wanted)])


class PlannedRoom:
    """A plan with the batches taken so far in it; satisfies `records.BrooderRoom`.

    types: a batch for each type, by key, that stands for any number of its birds, as in `headroom`; its key is no
    batch of the problem. days: how far leaving days may lie from the problem's start (`horizon`); ValueError beyond.
    """

    def __init__(
        self, problem: Problem, plans: Iterable[BatchPlan], types: Sequence[Batch], days: int = 731
    ) -> None:
        self.types: Mapping[str, Batch] = {each.key: each for each in types}
        known = {batch.key for batch in problem.batches}
        if len(self.types) < len(types) or known & set(self.types):
            raise ValueError("each type needs a key of its own that no batch has")
        weights = problem.weights
        dear = {
            name: getattr(weights, name) * DEAR for name in ("room", "nowhere", "feeder", "drinker", "cold")
        }
        # The types are batches of the problem without a plan: so the state knows their species.
        joined = tuple(
            replace(_bare(each), arrival=Arrival(problem.start), leave_age_days=None, leaves=None)
            for each in types
        )
        trial = replace(
            problem, batches=(*problem.batches, *joined), weights=replace(weights, **dear), adopted=()
        )
        self.state = standing.of(trial, plans, days)
        self.ground = self.state.ground
        self.last = self.ground.days.day(days)
        self._number = FIRST
        self._version = 0
        self._found: dict[tuple[str, int, int, int], tuple[int, widest.Widest]] = {}

    def most(self, kind: str, arrival: date, age_days: int, leaves_on: date) -> int:
        """Return the largest batch that fits, in one part; `widest.MOST` where it leaves on the day it comes."""
        if leaves_on <= arrival:
            return widest.MOST
        found, at = self._widest(kind, arrival, age_days, leaves_on)
        birds = int(found.birds[at])
        # The widest way and the insertion round a batch's survivors alike, but for a bird or two.
        for count in range(birds, max(birds - 3, 0), -1):
            taken = self.take(kind, arrival, age_days, count, leaves_on)
            if taken is not None:
                self.give_back(taken)
                return count
        return 0

    def narrowest(self, kind: str, arrival: date, age_days: int, leaves_on: date) -> tuple[str, date] | None:
        """Return the housing's name and the day that keep a batch from being larger; None where none takes it."""
        if leaves_on <= arrival:
            return None
        found, at = self._widest(kind, arrival, age_days, leaves_on)
        row = int(found.row[at])
        if row < 0:
            return None
        return self.ground.housings[row].name, self.ground.days.day(int(found.column[at]))

    def take(self, kind: str, arrival: date, age_days: int, birds: int, leaves_on: date) -> Taken | None:
        """Put a batch in where it adds no shortage; None where there is no such way."""
        if leaves_on <= arrival or birds < 1:
            return Taken(())
        batch = self._batch(kind, arrival, age_days, leaves_on, birds)
        column = self.ground.days.index(arrival)
        lane = lanes.make(self.ground, batch, "1", 0, column)
        asked = load(batch, birds, np.arange(lane.first, lane.end) - lane.arrival + age_days)
        loads = [getattr(asked, resource.field) for resource in self.ground.resources]
        legs = insert.best(self.state, lane, loads, asked.cold).legs
        if any(self._short(leg, lane.first, loads) for leg in legs):
            return None
        part = PlanPart("1", birds, chains.stays(self.ground, lane, legs))
        plan = BatchPlan(batch.key, arrival, (part,))
        self._number += 1
        taken = Taken(
            tuple(
                (entry, tuple(self.ground.loads(batch, birds, column, entry.start, entry.stop)))
                for entry in standing.entries(self.ground, batch, self._number, plan, part)
            ),
            part.stays,
        )
        self.put_back(taken)
        return taken

    def put_back(self, taken: object) -> None:
        """Put a batch in exactly where it was."""
        assert isinstance(taken, Taken)
        for entry, loads in taken.stays:
            self.state.place(entry, loads)
        self._version += 1

    def give_back(self, taken: object) -> None:
        """Take a batch out again."""
        assert isinstance(taken, Taken)
        for entry, loads in reversed(taken.stays):
            self.state.lift(entry, loads)
        self._version += 1

    def stays(self, taken: object) -> tuple[PlanStay, ...]:
        """Return where a batch that was taken lives."""
        assert isinstance(taken, Taken)
        return taken.said

    def _batch(self, kind: str, arrival: date, age_days: int, leaves_on: date, birds: int) -> Batch:
        if leaves_on > self.last:
            raise ValueError(f"the plan reaches to {self.last}, not to {leaves_on}")
        leave_age = (leaves_on - arrival).days + age_days
        return replace(
            with_birds(_bare(self.types[kind]), birds),
            arrival=Arrival(arrival), age_at_arrival_days=age_days, leave_age_days=leave_age, leaves=None,
        )  # fmt: skip

    def _widest(self, kind: str, arrival: date, age_days: int, leaves_on: date) -> tuple[widest.Widest, int]:
        life = (leaves_on - arrival).days
        column = self.ground.days.index(arrival)
        first = column - column % BLOCK
        key = kind, first, age_days, life
        version, found = self._found.get(key, (-1, None))
        if found is None or version != self._version:
            batch = self._batch(kind, arrival, age_days, leaves_on, self.types[kind].birds)
            days = max(min(BLOCK, self.ground.days.index(self.last) - life - first + 1), column - first + 1)
            found = widest.ways(self.state, batch, first, days)
            self._found[key] = self._version, found
        return found, column - first

    def _short(self, leg: insert.Leg, first: int, loads: Sequence[Ints]) -> bool:
        days = slice(leg.start - first, leg.end - first)
        if leg.row == NOWHERE:
            return leg.end > leg.start
        return any(
            bool((asked[days] > room[leg.row, leg.start : leg.end]).any())
            for room, asked in zip(self.state.room, loads, strict=True)
        )


def _bare(batch: Batch) -> Batch:
    return replace(batch, history=(), parts=(), max_parts=1)
