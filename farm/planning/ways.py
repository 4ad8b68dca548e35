"""A way out: what the keeper would change, and the plan that shows it works."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from farm.phrase import Phrase
from farm.planning import plan_check, score
from farm.planning.changes import Change, apply_all
from farm.planning.problem import Batch, Problem
from farm.planning.shortfalls import Shortfall
from farm.planning.solution import BatchPlan, Solution
from farm.planning.yard import fitted

#: What a change asks of the keeper beyond the bill, in its units (1000 = one move). Stays that only lie elsewhere in
#: the plan ask nothing more: the bill counts them. Project default (judgement).
EFFORT = {
    "arrival_day": 20, "bird": 50, "day_early": 100, "dm2_day": 2, "borrow": 3000, "rest_day": 500, "split": 500,
    "other": 500,
}  # fmt: skip


@dataclass(frozen=True)
class Way:
    """One verified way out of a shortfall.

    kind: "arrival", "fewer", "area", "borrow", "leave", "split", "rest", "others". changes: edits of the problem, none
    where planning anew is enough. problem, solution: with the changes made. difference: of the two bills' totals.
    effort: what the changes ask beyond the bill. left: the price of what is still short anywhere.
    """

    kind: str
    changes: tuple[Change, ...]
    sentence: Phrase
    problem: Problem
    solution: Solution
    difference: int
    effort: int
    left: int
    caution: Phrase | None = None

    @property
    def price(self) -> int:
        """Return what ways are ranked by: dearer is worse."""
        return self.difference + self.effort


@dataclass(frozen=True)
class Case:
    """A plan and the one shortfall of it that is looked at. bill: of the plan as it stands."""

    problem: Problem
    solution: Solution
    shortfall: Shortfall
    bill: score.Bill

    @cached_property
    def known(self) -> frozenset[plan_check.Fault]:
        """Return what the plan as it stands breaks already."""
        return frozenset(plan_check.faults(self.problem, self.solution))

    def batch(self, key: str) -> Batch:
        """Return a batch by its key."""
        return next(batch for batch in self.problem.batches if batch.key == key)

    def is_here(self, batch: Batch) -> bool:
        """Return whether the birds are on the farm already: their arrival and number are facts, not plans.

        A batch the adopted plan does not know is only thought of, and may still come today.
        """
        known = any(plan.batch == batch.key for plan in self.problem.adopted)
        return bool(batch.history) or (known and batch.arrival.day <= self.problem.start)

    def others(self, *keys: str) -> tuple[BatchPlan, ...]:
        """Return the plans of all batches but these."""
        return tuple(plan for plan in self.solution.plans if plan.batch not in keys)

    def verified(
        self,
        kind: str,
        changes: tuple[Change, ...],
        plans: Iterable[BatchPlan],
        sentence: Phrase,
        effort: int,
        caution: Phrase | None = None,
    ) -> Way | None:
        """Return the way if this plan of the changed problem is sound and ends the shortfall, with no other grown."""
        problem = apply_all(self.problem, changes)
        made = fitted(problem, plans)
        bill = score.bill(problem, made)
        if bill.shortfall > self.bill.shortfall - self.shortfall.price or self._worse(bill):
            return None
        solution = Solution(problem.digest, made, bill.total, 0)
        # A keeper's own plan may break rules that `others` still break: a way out must only add none.
        if any(
            not fault.forced and fault not in self.known for fault in plan_check.faults(problem, solution)
        ):
            return None
        difference = bill.total - self.bill.total
        return Way(kind, changes, sentence, problem, solution, difference, effort, bill.shortfall, caution)

    def _worse(self, bill: score.Bill) -> bool:
        return any(bill.terms[name] > self.bill.terms[name] for name in ("pins", "misplaced"))


def case(problem: Problem, solution: Solution, shortfall: Shortfall) -> Case:
    """Return a shortfall of a plan as a case."""
    return Case(problem, solution, shortfall, score.bill(problem, solution.plans))


def days_between(one: date, other: date) -> int:
    """Return how many days lie between two, without sign."""
    return abs((one - other).days)
