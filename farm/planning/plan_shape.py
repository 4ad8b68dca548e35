"""Whether a solution is a plan of its problem at all: every batch once, its birds whole, its stays one unbroken chain.

Part of the judge `plan_check`: no code is shared with the solver or the score.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from farm.planning.problem import Batch, Problem
from farm.planning.solution import BatchPlan, PlanPart, Solution

DAY = timedelta(days=1)
#: Every kind of fault.
KINDS = {
    "problem": "the solution answers another problem",
    "missing": "a batch without a plan, or with two",
    "unknown": "a batch or housing the problem does not have",
    "arrival": "a batch arrives on a day that is not allowed",
    "parts": "the parts do not add up, or are too many",
    "chain": "a part's stays have a gap, overlap, or do not span its life",
    "past": "the past has been changed",
    "pin": "a pin is not kept",
    "kind": "a housing of a kind that does not suit the age",
    "heat": "birds that need heat in a housing without",
    "outdoors": "birds out of doors too young or too early",
    "service": "a housing that is out of service",
    "species": "a housing kept for other species",
    "forbidden": "a housing the keeper ruled out for the batch",
    "short_stay": "a stay shorter than the least",
    "one_batch": "two batches in a housing for one",
    "age_gap": "batches further apart in age than the housing allows",
    "apart": "species that must never share",
    "rest": "a batch moves in before the rest days are over",
}


@dataclass(frozen=True, slots=True)
class Fault:
    """One rule broken by `batches` in a housing over [start, end). forced: by a pin or the past."""

    kind: str
    batches: tuple[str, ...]
    housing: str | None
    start: date
    end: date
    forced: bool = False


def shape(problem: Problem, solution: Solution) -> Iterator[Fault]:
    """Yield what makes the solution no plan of this problem at all."""
    start, end = problem.start, problem.start + problem.days * DAY
    for kind, batches, housing in _wrong(problem, solution):
        yield Fault(kind, batches, housing, start, end)


def _wrong(problem: Problem, solution: Solution) -> Iterator[tuple[str, tuple[str, ...], str | None]]:
    if solution.problem != problem.digest:
        yield "problem", (), None
    batches = {batch.key: batch for batch in problem.batches}
    planned = [plan.batch for plan in solution.plans]
    for key in sorted({*batches, *planned}):
        if key not in batches:
            yield "unknown", (key,), None
        elif planned.count(key) != 1:
            yield "missing", (key,), None
    for plan in solution.plans:
        if plan.batch in batches:
            for kind, housing in _wrong_batch(problem, batches[plan.batch], plan):
                yield kind, (plan.batch,), housing


def _wrong_batch(problem: Problem, batch: Batch, plan: BatchPlan) -> Iterator[tuple[str, str | None]]:
    housings = {housing.key for housing in problem.housings} | {None}
    if not _arrival_allowed(batch, plan.arrival):
        yield "arrival", None
    if not _parts_right(batch, plan):
        yield "parts", None
    for part in plan.parts:
        for stay in part.stays:
            if stay.housing not in housings:
                yield "unknown", stay.housing
        if not _chained(problem, batch, plan.arrival, part):
            yield "chain", None


def _arrival_allowed(batch: Batch, day: date) -> bool:
    asked = batch.arrival
    first, before = asked.earliest or asked.day, asked.before or asked.day + DAY
    inside = first <= day < before and (not asked.weekdays or day.weekday() in asked.weekdays)
    return day == asked.day or inside


def _parts_right(batch: Batch, plan: BatchPlan) -> bool:
    birds = [part.birds for part in plan.parts]
    if (
        sum(birds) != batch.birds
        or min(birds, default=0) < 1
        or len({part.key for part in plan.parts}) < len(birds)
    ):
        return False
    if batch.parts:
        return {part.key: part.birds for part in plan.parts} == {part.key: part.birds for part in batch.parts}
    return len(birds) <= batch.max_parts


def _chained(problem: Problem, batch: Batch, arrival: date, part: PlanPart) -> bool:
    if not part.stays or any(stay.start >= stay.end for stay in part.stays):
        return False
    if any(one.end != other.start or one.housing == other.housing for one, other in pairwise(part.stays)):
        return False
    leave = _leave(batch, arrival)
    last = part.stays[-1].end
    return part.stays[0].start == max(arrival, problem.start) and (
        last == leave if leave is not None else last >= problem.start + problem.days * DAY
    )


def _leave(batch: Batch, arrival: date) -> date | None:
    days = [] if batch.leaves is None else [batch.leaves]
    if batch.leave_age_days is not None:
        days.append(arrival + (batch.leave_age_days - batch.age_at_arrival_days) * DAY)
    return min(days, default=None)
