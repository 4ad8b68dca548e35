"""Ways out that leave the batch and the farm as they are: another batch moved, or everything planned anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

from farm.phrase import N_, Phrase, Value
from farm.planning.changes import MoveArrival
from farm.planning.problem import Arrival
from farm.planning.solution import BatchPlan
from farm.planning.solve import solve
from farm.planning.ways import EFFORT, Case, Way, days_between
from farm.planning.ways_of_batch import OfBatch
from farm.planning.yard import Yard, lives

#: How many other batches are tried, how far they may be shifted, and the repairs of planning anew.
OTHERS, SHIFT, REPAIRS = 6, 28, 150


class OfOthers:
    """The ways around one batch of a case that move one other."""

    def __init__(self, of_batch: OfBatch) -> None:
        self.own, self.case, self.batch = of_batch, of_batch.case, of_batch.batch
        self.plan, self.rest, self.problem = of_batch.plan, of_batch.rest, of_batch.case.problem

    def others(self) -> Iterator[Way]:
        """Yield another batch's arrival shifted so that this one finds room, the nearest shift that does."""
        first, last = lives(self.plan, self.problem)
        able = [
            plan
            for plan in self.rest
            if len(plan.parts) == 1
            and not (self.case.is_here(self.case.batch(plan.batch)) or self.case.batch(plan.batch).parts)
            and any(stay.start < last and first < stay.end for stay in plan.parts[0].stays)
        ]  # fmt: skip
        able.sort(key=lambda plan: (days_between(plan.arrival, self.plan.arrival), plan.batch))
        for plan in able[:OTHERS]:
            way = self._shifted(plan)
            if way is not None:
                yield way
                return

    def _shifted(self, plan: BatchPlan) -> Way | None:
        other, left = self.case.batch(plan.batch), self.case.others(self.batch.key, plan.batch)
        width = self.own.yard.ground.width + SHIFT
        attempt = Yard(self.problem, left, width).attempt(self.batch, self.plan.arrival)
        if attempt.short:
            return None
        yard = Yard(self.problem, (*left, attempt.plan), width)
        first = max(plan.arrival - timedelta(days=SHIFT), self.problem.start)
        days = (plan.arrival - first).days + SHIFT + 1
        fits = yard.widest(other, first, days) >= other.birds
        able = [first + timedelta(days=at) for at in range(days) if fits[at]]
        able = [day for day in able if not other.arrival.weekdays or day.weekday() in other.arrival.weekdays]
        if not able:
            return None
        day = min(able, key=lambda day: (days_between(day, plan.arrival), day))
        made = yard.attempt(replace(other, arrival=Arrival(day)), day).plan
        changes = () if day in other.arrival.days() else (MoveArrival(other.key, day),)
        text = (
            N_("%(batch)s come on %(day)s instead of %(before)s")
            if day != plan.arrival
            else N_("%(batch)s live elsewhere")
        )
        values: dict[str, Value] = {"batch": other.name, "day": day, "before": plan.arrival}
        effort = days_between(day, plan.arrival) * EFFORT["arrival_day"] + EFFORT["other"] * bool(changes)
        return self.case.verified(
            "others", changes, (*left, attempt.plan, made), Phrase(text, values), effort
        )


def planned_anew(case: Case, repairs: int = REPAIRS) -> Iterator[Way]:
    """Yield the plan found when everything that is not pinned may move, nothing else changed."""
    adopted = replace(case.problem, adopted=case.solution.plans)
    found = solve(adopted, iterations=repairs, report=lambda progress: True)
    before = case.solution.by_batch
    moved = [plan.batch for plan in found.plans if plan != before[plan.batch]]
    phrase = Phrase(
        N_("%(count)d batch lives elsewhere, nothing else changes"),
        {"count": len(moved)},
        N_("%(count)d batches live elsewhere, nothing else changes"),
        "count",
    )
    way = case.verified("others", (), found.plans, phrase, effort=0)
    if way is not None:
        yield way
