"""A plan with one or two batches lifted out of it: where else could they go, nobody else moving?"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from farm.planning import chains, insert, lanes, standing, widest
from farm.planning.insert import NOWHERE
from farm.planning.lanes import Lane
from farm.planning.loads import Ints, leave_day, load, span
from farm.planning.problem import Batch, Problem
from farm.planning.solution import BatchPlan, PlanPart
from farm.planning.state import Entry

#: A shortage weighs this much more than anything else: only a way without any will do, if there is one.
DEAR = 100


@dataclass(frozen=True)
class Attempt:
    """A plan for one batch, and the dm²·days (and mm·days of edge) it adds to what is short, its past aside."""

    plan: BatchPlan
    short: int


class Yard:
    """The farm of a problem with some batches' plans standing. `days`: how far the questions look, at least."""

    def __init__(self, problem: Problem, plans: Iterable[BatchPlan], days: int = 1) -> None:
        weights = problem.weights
        dear = {
            name: getattr(weights, name) * DEAR for name in ("room", "nowhere", "feeder", "drinker", "cold")
        }
        strict = replace(problem, weights=replace(weights, **dear))
        self.problem, self.plans = problem, tuple(plans)
        self.state = standing.of(strict, self.plans, max(days, span(problem).days))
        self.ground = self.state.ground

    def attempt(self, batch: Batch, arrival: date, sizes: Sequence[int] = ()) -> Attempt:
        """Return the way with least shortage of a batch, whole or in parts of `sizes`, arriving on a day."""
        column = self.ground.days.index(arrival)
        place = next(at for at, each in enumerate(self.ground.batches) if each.key == batch.key)
        parts, short, entered = [], 0, list[tuple[Entry, list[Ints]]]()
        keys = [part.key for part in batch.parts] or [str(at + 1) for at in range(max(len(sizes), 1))]
        birds = list(sizes) or [part.birds for part in batch.parts] or [batch.birds]
        for at, (key, count) in enumerate(zip(keys, birds, strict=True)):
            lane = lanes.make(self.ground, batch, key, at, column)
            loads, cold = self._loads(batch, count, lane)
            with self.state.blind_to(place):
                way = insert.best(self.state, lane, loads, cold)
            short += self._short(lane, way.legs, loads)
            parts.append(PlanPart(key, count, chains.stays(self.ground, lane, way.legs)))
            if at + 1 < len(birds):
                made = BatchPlan(batch.key, arrival, (parts[-1],))
                for entry in standing.entries(self.ground, batch, place, made, parts[-1]):
                    asked = self.ground.loads(batch, count, column, entry.start, entry.stop)
                    self.state.place(entry, asked)
                    entered.append((entry, asked))
        for entry, asked in reversed(entered):
            self.state.lift(entry, asked)
        return Attempt(BatchPlan(batch.key, arrival, tuple(parts)), short)

    def widest(self, batch: Batch, first: date, days: int) -> Ints:
        """Return the largest such batch that fits, for each arrival on `days` days from `first`."""
        return widest.ways(self.state, batch, self.ground.days.index(first), days).birds

    def _loads(self, batch: Batch, birds: int, lane: Lane) -> tuple[list[Ints], Ints]:
        asked = load(batch, birds, np.arange(lane.first, lane.end) - lane.arrival + batch.age_at_arrival_days)
        return [getattr(asked, resource.field) for resource in self.ground.resources], asked.cold

    def _short(self, lane: Lane, legs: Sequence[insert.Leg], loads: list[Ints]) -> int:
        found = 0
        for row, start, end in legs:
            days = slice(start - lane.first, end - lane.first)
            if row == NOWHERE:
                found += int(loads[0][days].sum())
                continue
            for room, asked in zip(self.state.room, loads, strict=True):
                found += int(np.maximum(asked[days] - room[row, start:end], 0).sum())
        return found


def fitted(problem: Problem, plans: Iterable[BatchPlan]) -> tuple[BatchPlan, ...]:
    """Return plans with the last stays of birds that have no day to leave drawn out, or cut, to the span's end."""
    batches, end = {batch.key: batch for batch in problem.batches}, span(problem).end
    return tuple(
        plan
        if leave_day(batches[plan.batch], plan.arrival)
        else replace(plan, parts=tuple(_until(part, end) for part in plan.parts))
        for plan in plans
    )


def _until(part: PlanPart, end: date) -> PlanPart:
    stays = [stay for stay in part.stays if stay.start < end]
    return replace(part, stays=(*stays[:-1], replace(stays[-1], end=end)) if stays else part.stays)


def lives(plan: BatchPlan, problem: Problem) -> tuple[date, date]:
    """Return the first day the plan has a batch on, and the first day after."""
    ends = [stay.end for part in plan.parts for stay in part.stays]
    return max(plan.arrival, problem.start), max(ends, default=plan.arrival + timedelta(days=1))
