"""A plan laid out by housing and day: what `score` counts. Built from the plan alone, with no part of the solver."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

import numpy as np

from farm.planning import suits
from farm.planning.loads import Bools, Ints, Load, load, span
from farm.planning.problem import Batch, Housing, Problem
from farm.planning.solution import BatchPlan, PlanPart, PlanStay
from farm.planning.window import Window


@dataclass(frozen=True, slots=True)
class Row:
    """What one part's chain of stays amounts to: days of moves, birds·days in the cold, days misplaced and changed."""

    move_days: tuple[date, ...]
    cold: int
    misplaced: int
    changed: int


@dataclass(frozen=True, eq=False)
class Tables:
    """Housing × day arrays over the plan's span: asked, given, batches together; and the row of each part."""

    problem: Problem
    days: Window
    area: Ints
    feeder: Ints
    drinker: Ints
    birds: Ints
    area_given: Ints
    feeder_given: Ints
    drinker_given: Ints
    together: Ints
    nowhere_area: Ints
    nowhere_birds: Ints
    rows: tuple[Row, ...]
    unkept_pin_days: int
    new_parts: int
    arrival_shift_days: int


def tables(problem: Problem, plans: Iterable[BatchPlan]) -> Tables:
    """Return the plan's tables. Raises KeyError for a batch or housing the problem does not have."""
    sheet = _Sheet(problem)
    listed = sorted(plans, key=lambda plan: plan.batch)
    for plan in listed:
        sheet.enter(plan)
    given = [suits.given(housing, sheet.days) for housing in problem.housings]
    area, feeder, drinker = (np.array([each[i] for each in given]).reshape(sheet.shape) for i in range(3))
    new = [len(plan.parts) - max(len(sheet.batches[plan.batch].parts), 1) for plan in listed]
    return Tables(
        problem=problem,
        days=sheet.days,
        area=sheet.area, feeder=sheet.feeder, drinker=sheet.drinker, birds=sheet.birds,
        area_given=area, feeder_given=feeder, drinker_given=drinker,
        together=sheet.together,
        nowhere_area=sheet.nowhere_area,
        nowhere_birds=sheet.nowhere_birds,
        rows=tuple(sheet.rows),
        unkept_pin_days=_unkept(problem, listed),
        new_parts=sum(max(count, 0) for count in new),
        arrival_shift_days=sum(abs((plan.arrival - sheet.batches[plan.batch].arrival.day).days) for plan in listed),
    )  # fmt: skip


class _Sheet:
    def __init__(self, problem: Problem) -> None:
        self.problem, self.days = problem, span(problem)
        self.batches: Mapping[str, Batch] = {batch.key: batch for batch in problem.batches}
        self.row = {housing.key: at for at, housing in enumerate(problem.housings)}
        self.shape = (len(problem.housings), self.days.days)
        self.area, self.feeder, self.drinker, self.birds, self.together = (
            np.zeros(self.shape, dtype=np.int64) for _ in range(5)
        )
        self.nowhere_area, self.nowhere_birds = (np.zeros(self.days.days, dtype=np.int64) for _ in range(2))
        self.rows: list[Row] = []

    @cached_property
    def adopted(self) -> Mapping[str, BatchPlan]:
        return {plan.batch: plan for plan in self.problem.adopted}

    def enter(self, plan: BatchPlan) -> None:
        batch = self.batches[plan.batch]
        inside: Bools = np.zeros(self.shape, dtype=np.bool_)
        for place, part in enumerate(plan.parts):
            cold = misplaced = 0
            for stay in part.stays:
                colder, wrong = self.stay(batch, plan.arrival, part, stay, inside)
                cold, misplaced = cold + colder, misplaced + wrong
            changed = _changed(self.adopted.get(plan.batch), place, part)
            self.rows.append(Row(_moves(batch, part), cold, misplaced, changed))
        self.together += inside

    def stay(
        self, batch: Batch, arrival: date, part: PlanPart, stay: PlanStay, inside: Bools
    ) -> tuple[int, int]:
        """Enter one stay; return its birds·days in the cold and its days misplaced."""
        first, stop = self.days.index(stay.start), self.days.index(stay.end)
        ages = np.arange(first, stop) - self.days.index(arrival) + batch.age_at_arrival_days
        asks = load(batch, part.birds, ages)
        if stay.housing is None:
            self.nowhere_area[first:stop] += asks.area_dm2
            self.nowhere_birds[first:stop] += asks.birds
            return 0, 0
        at, housing = self.row[stay.housing], self.problem.housings[self.row[stay.housing]]
        self.area[at, first:stop] += asks.area_dm2
        self.feeder[at, first:stop] += asks.feeder_mm
        self.drinker[at, first:stop] += asks.drinker_mm
        self.birds[at, first:stop] += asks.birds
        inside[at, first:stop] = True
        return _faults(batch, housing, asks, ages, Window(stay.start, stop - first))


def _faults(batch: Batch, housing: Housing, asks: Load, ages: Ints, days: Window) -> tuple[int, int]:
    cold = 0 if housing.heated else int(asks.cold.sum())
    return cold, int((~suits.suitable(batch, housing, ages, days)).sum())


def _moves(batch: Batch, part: PlanPart) -> tuple[date, ...]:
    been = suits.last_past(batch, part.key)
    before = [been.housing if been and part.stays and been.end <= part.stays[0].start else _NO_ONE]
    chain = [stay.housing for stay in part.stays]
    return tuple(
        stay.start
        for old, stay in zip([*before, *chain], part.stays, strict=False)
        if old is not _NO_ONE and old != stay.housing
    )


_NO_ONE = "\0"


def _changed(adopted: BatchPlan | None, place: int, part: PlanPart) -> int:
    """Count the days the adopted plan has the part in another housing; part `place` there, or its last one."""
    if adopted is None or not adopted.parts:
        return 0
    before = adopted.parts[min(place, len(adopted.parts) - 1)]
    return sum(
        max((min(one.end, other.end) - max(one.start, other.start)).days, 0)
        for one in before.stays
        for other in part.stays
        if one.housing is not None and one.housing != other.housing
    )


def _unkept(problem: Problem, plans: list[BatchPlan]) -> int:
    """Count the pins' days in the plan's span on which a part they name is not in the housing they name."""
    days, found = span(problem), 0
    parts = {plan.batch: plan.parts for plan in plans}
    for pin in problem.pins:
        first, stop = max(pin.start, days.start), min(pin.end, days.end)
        for part in parts.get(pin.batch, ()):
            if pin.part in ("", part.key):
                kept = sum(
                    max((min(stay.end, stop) - max(stay.start, first)).days, 0)
                    for stay in part.stays
                    if stay.housing == pin.housing
                )
                found += max((stop - first) // timedelta(days=1), 0) - kept
    return found
