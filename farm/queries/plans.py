"""Plans as pages read them: in plain sentences beside what is planned now, and as a board."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from farm.errors import NotFound
from farm.models import Batch, Farm, Housing, Plan, Stay
from farm.models.plan import OPEN
from farm.phrase import Phrase
from farm.planning import check, plan_moves, plan_rooms
from farm.planning import problem as planning
from farm.planning import solution as solutions
from farm.planning.loads import Ints
from farm.planning.problem import Problem
from farm.planning.score import Bill
from farm.planning.solution import BatchPlan, Solution
from farm.planning.weights import Weights
from farm.planning.window import Window
from farm.queries import naming, stepped, trial_rows
from farm.queries.occupancy import Sheet
from farm.queries.stamps import changed_since
from farm.trade import mixing

__all__ = ["Difference", "Shown", "by_code", "changed_since", "notices", "recent", "sheet", "shown"]


def by_code(farm_id: int, code: str) -> Plan:
    """Return the plan that a link within the farm names. Raises NotFound."""
    found = (
        Plan.objects.filter(farm_id=farm_id, code=code).select_related("adoption", "made_by", "farm").first()
    )
    if found is None:
        raise NotFound(_("There is no such plan on this farm."))
    return found


def recent(farm: Farm) -> QuerySet[Plan]:
    """Return the farm's plans, newest first, without what only their own page needs."""
    return (
        Plan.objects.filter(farm=farm)
        .defer("problem", "solution", "stamps", "changes")
        .select_related("made_by", "adoption__undone_by")
    )


def notices(farm: Farm) -> list[Plan]:
    """Return the plans that were proposed by themselves, are worked out and wait for a keeper's word."""
    return list(recent(farm).filter(automatic=True, state__in=OPEN, solution__isnull=False))


@dataclass(frozen=True, slots=True)
class Difference:
    """One line of the bill that is not the same: what it says now and with the plan; None where it says nothing."""

    term: str
    before: Phrase | None
    after: Phrase | None


@dataclass(frozen=True)
class Shown:
    """A plan as it was put and worked out, for its page. solution: None until there is a first one."""

    plan: Plan
    problem: Problem
    solution: Solution | None

    @cached_property
    def names(self) -> dict[str, str]:
        """Return the names of housings and batches by key, of those too that the trial took away."""
        rows = {str(row.pk): row.name for row in Housing.objects.filter(farm_id=self.plan.farm_id)}
        return rows | {housing.key: housing.name for housing in self.problem.housings}

    @cached_property
    def moves(self) -> tuple[Phrase, ...]:
        """Return in sentences what moves otherwise than is planned now, by day."""
        if self.solution is None:
            return ()
        batches = {batch.key: batch.name for batch in self.problem.batches}
        return plan_moves.differences(self.problem.adopted, self.solution.plans, self.names, batches)

    @cached_property
    def changed_batches(self) -> frozenset[str]:
        """Return the keys of the batches that live otherwise than is planned now."""
        if self.solution is None:
            return frozenset()
        return plan_moves.changed(self.problem.adopted, self.solution.plans)

    @property
    def bill(self) -> tuple[Phrase, ...]:
        """Return the plan's bill in lines."""
        return _bill(self.plan.bill).lines() if self.plan.bill else ()

    @property
    def bill_difference(self) -> tuple[Difference, ...]:
        """Return the lines of the bill that the plan changes, the gravest first."""
        if not self.plan.bill:
            return ()
        before, after = self.plan.before["terms"], self.plan.bill["terms"]
        return tuple(
            Difference(term, _line(term, before.get(term, 0)), _line(term, count))
            for term, count in after.items()
            if count != before.get(term, 0)
        )


def shown(plan: Plan) -> Shown:
    """Return a plan read for its page. Raises codec.ReadingError for rows an older program wrote."""
    found = None if plan.solution is None else solutions.from_json(plan.solution)
    return Shown(plan, planning.from_json(plan.problem), found)


def sheet(found: Shown, window: Window, today: date) -> Sheet:
    """Return the plan as the board draws it over `window`; days before the plan are empty.

    Stays are rows that are not saved, and so are batches and housings that a trial only thinks of: they have no number.
    Raises ValueError while there is no solution.
    """
    if found.solution is None:
        raise ValueError("the plan is not worked out yet")
    problem, plans = found.problem, found.solution.plans
    housings, batches = trial_rows.of(found.plan, problem)
    load = plan_rooms.load(replace(problem, start=window.start, days=window.days), plans)
    groups = tuple(
        replace(group, describe=naming.describe(batches[group.key], _birds(problem, group.key)))
        for group in load.groups
    )
    load = replace(load, groups=groups)
    stepped.fill(load, problem)
    unhoused = {plan.batch: _nowhere(plan, window) for plan in plans}
    return Sheet(
        window=window,
        housings=housings,
        batches=batches,
        stays=_stays(problem, plans, housings, batches),
        occupancy=load,
        breaches=stepped.judged(load, problem, check.breaches(load, unhoused, mixing.mixing().apart)),
        unhoused=unhoused,
    )


def _stays(
    problem: Problem,
    plans: tuple[BatchPlan, ...],
    housings: dict[str, Housing],
    batches: dict[str, Batch],
) -> dict[str, Stay]:
    """Return the plan's stays by the keys `plan_rooms` gives them."""
    pinned = {(pin.batch, pin.housing) for pin in problem.pins}
    return {
        f"{plan.batch}/{part.key}/{place}": Stay(
            batch=batches[plan.batch],
            housing=housings[stay.housing],
            birds=part.birds,
            start=stay.start,
            end=stay.end,
            pinned=(plan.batch, stay.housing) in pinned,
        )
        for plan in plans
        for part in plan.parts
        for place, stay in enumerate(part.stays)
        if stay.housing is not None
    }


def _birds(problem: Problem, key: str) -> int:
    return next(batch.birds for batch in problem.batches if batch.key == key)


def _nowhere(plan: BatchPlan, window: Window) -> Ints:
    found: Ints = np.zeros(window.days, dtype=np.int64)
    for part in plan.parts:
        for stay in part.stays:
            columns = window.clip(stay.start, stay.end)
            if stay.housing is None and columns is not None:
                found[columns] += part.birds
    return found


def _bill(said: dict) -> Bill:
    return Bill(said["terms"], Weights(), said["birds_short"])


def _line(term: str, count: int) -> Phrase | None:
    return next(iter(Bill({term: count}, Weights(), 0).lines()), None)
