"""Two ways to plan by rule, without search, as a keeper with a wall calendar would: what the planner must beat."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import numpy as np

from farm.planning import suits
from farm.planning.loads import load, span
from farm.planning.problem import Batch, Housing, Problem
from farm.planning.solution import BatchPlan, PlanPart, PlanStay
from farm.planning.window import Window


def first_fit(problem: Problem) -> tuple[BatchPlan, ...]:
    """Place batches as they come, each stage in the first housing with room for it, moving on as early as allowed."""
    return _Calendar(problem, latest=False, brooder_alone=False).plans()


def one_brooder_each(problem: Problem) -> tuple[BatchPlan, ...]:
    """Give each batch a brooder of its own for as long as it may stay, then the first housing with room."""
    return _Calendar(problem, latest=True, brooder_alone=True).plans()


class _Calendar:
    """Housing by day, filled in one batch at a time; nothing is ever moved again."""

    def __init__(self, problem: Problem, latest: bool, brooder_alone: bool) -> None:
        self.problem, self.latest, self.brooder_alone = problem, latest, brooder_alone
        self.days = span(problem)
        self.free = {each.key: suits.given(each, self.days)[0] for each in problem.housings}
        self.stays: dict[str, list[tuple[int, int, Batch]]] = {each.key: [] for each in problem.housings}

    def plans(self) -> tuple[BatchPlan, ...]:
        batches = sorted(self.problem.batches, key=lambda batch: (batch.arrival.day, batch.key))
        return tuple(self._plan(batch) for batch in batches)

    def _plan(self, batch: Batch) -> BatchPlan:
        arrival = self.days.index(batch.arrival.day)
        found = list[PlanStay]()
        for first, stop in self._stages(batch):
            begin, end = arrival + first, arrival + stop
            asked = load(batch, batch.birds, np.arange(first, stop)).area_dm2
            fitting = (
                each for each in self.problem.housings if self._fits(each, batch, asked, begin, end, first)
            )
            housing = next(fitting, None)
            key = None if housing is None else housing.key
            if key is not None:
                self.free[key][begin:end] -= asked
                self.stays[key].append((begin, end, batch))
            if found and found[-1].housing == key:
                begin = self.days.index(found.pop().start)
            found.append(PlanStay(key, self.days.day(begin), self.days.day(end)))
        return BatchPlan(batch.key, batch.arrival.day, (PlanPart("1", batch.birds, tuple(found)),))

    def _stages(self, batch: Batch) -> Iterator[tuple[int, int]]:
        """Yield the ages of each stay, cut at the earliest or the latest age of the next move."""
        assert batch.leave_age_days is not None
        begun = 0
        for stage, following in zip(batch.stages, [*batch.stages[1:], None], strict=True):
            end = batch.leave_age_days
            if following is not None and stage.to_age is not None:
                end = stage.to_age if self.latest else following.from_age
            yield begun, end
            begun = end

    def _fits(
        self, housing: Housing, batch: Batch, asked: np.ndarray, begin: int, end: int, age: int
    ) -> bool:
        ages, days = np.arange(age, age + end - begin), Window(self.days.day(begin), end - begin)
        right = suits.suitable(batch, housing, ages, days) & suits.warm(batch, housing, ages)
        if not right.all() or (self.free[housing.key][begin:end] < asked).any():
            return False
        alone = housing.one_batch or (self.brooder_alone and housing.kind == "brooder")
        for start, stop, other in self.stays[housing.key]:
            together = start < end and begin < stop
            near = start < end + housing.rest_days and begin < stop + housing.rest_days
            if (together and (alone or self._quarrel(housing, batch, other))) or (near and not together):
                return False
        return True

    def _quarrel(self, housing: Housing, one: Batch, other: Batch) -> bool:
        gap = abs((one.arrival.day - other.arrival.day) // timedelta(days=1))
        too_far = housing.max_age_gap_days is not None and gap > housing.max_age_gap_days
        return too_far or (one.species != other.species)
