"""The only way in to the planner: a problem in, the best plan found out, with what is proved about it.

    solution = solve(problem, seed=0, iterations=2000)

The same problem and seed give the same plan in every process and on every machine, however busy: the budget is a
number of steps, never time. A caller with a deadline returns False from `report` when it has passed; the best plan so
far is then the answer. There is always an answer: birds without a place are 'nowhere', at a price.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from farm.planning import answer, bounds, greedy, score, validate
from farm.planning.atlas import Atlas, Placement
from farm.planning.draft import Draft
from farm.planning.ground import Ground
from farm.planning.problem import Problem
from farm.planning.repair import Repair
from farm.planning.score import Bill
from farm.planning.solution import Solution

#: A report at least every so many steps, so that a caller can stop a run that finds nothing new.
HEARTBEAT = 20


@dataclass(frozen=True)
class Progress:
    """How far a run is. cost: of the best plan so far; bound: no plan costs less; improved: since the last report."""

    iteration: int
    iterations: int
    cost: int
    bound: int
    improved: bool
    _make: Callable[[], Solution]

    def solution(self) -> Solution:
        """Return the best plan so far; it takes a moment on a large farm."""
        return self._make()

    def bill(self, problem: Problem) -> Bill:
        """Return what the best plan so far costs, term by term."""
        return score.bill(problem, self.solution().plans)


Report = Callable[[Progress], bool]


def solve(problem: Problem, seed: int = 0, iterations: int = 2000, report: Report | None = None) -> Solution:
    """Return the best plan found in `iterations` repairs, started from the adopted plan.

    report: called with the first plan, after improvements, and now and then; returning False stops the run. Raises
    codec.ReadingError, with (path, message) pairs, for a problem that cannot be planned.
    """
    validate.refuse(problem)
    return Run(problem, seed, iterations, report).answer()


class Run:
    """One call of `solve`."""

    def __init__(self, problem: Problem, seed: int, iterations: int, report: Report | None) -> None:
        self.problem, self.seed, self.iterations = problem, seed, iterations
        self.report = report or (lambda progress: True)
        self.draft = Draft(Atlas(Ground(problem)))
        greedy.begin(self.draft)
        # The draft counts up to a constant: what is fixed costs the same in every plan.
        self.fixed = score.bill(problem, answer.plans(self.draft)).total - self.draft.cost
        self.bound = bounds.of(self.draft.atlas)
        self.repair = Repair(self.draft, seed, iterations)
        self.told, self.taken, self.cancelled = -1, 0, False

    def answer(self) -> Solution:
        """Repair and return the best plan, its cost counted anew by `score`."""
        if self.tell(0):
            self.repair.run(self.tell)
        return self.solution(self.draft.placed, check=True)

    def tell(self, taken: int) -> bool:
        """Report the best plan so far, if it is new or it is time; return whether to go on."""
        self.taken = taken
        cost = self.repair.best_cost + self.fixed
        improved = cost != self.told
        if cost <= self.bound:
            self.report(self.progress(improved))
            return False
        if improved or taken % HEARTBEAT == 0:
            self.told = cost
            self.cancelled = not self.report(self.progress(improved))
        return not self.cancelled

    def progress(self, improved: bool) -> Progress:
        """Return where the run stands."""
        best, cost = list(self.repair.best), self.repair.best_cost + self.fixed
        return Progress(self.taken, self.iterations, cost, self.bound, improved, lambda: self.solution(best))

    def solution(self, placed: list[Placement | None], check: bool = False) -> Solution:
        """Return placements as a solution."""
        plans = answer.plans(self.draft, placed)
        cost = score.bill(self.problem, plans).total
        if check and cost != self.draft.cost + self.fixed:
            raise AssertionError(f"the plan costs {cost}, but was counted as {self.draft.cost + self.fixed}")
        return Solution(
            problem=self.problem.digest,
            plans=plans,
            cost=cost,
            bound=min(self.bound, cost),
            seed=self.seed,
            iterations=self.taken,
            cancelled=self.cancelled,
        )
