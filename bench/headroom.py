"""How large a batch fits on every day of a year, four types, farms of 40 and 200 batches; and planned anew."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from statistics import median

from bench import plan_farms
from bench.timing import seconds
from farm.planning import headroom
from farm.planning.headroom import Headroom
from farm.planning.problem import Arrival, Batch, Problem
from farm.planning.solution import Solution
from farm.planning.solve import solve
from farm.planning.yard import Yard

#: Seconds for a year of four types; repairs of the plan it is asked of.
SIZES = {"medium": (1.0, 300), "large": (2.5, 100)}
GOAL_REPLANNED = 1.0
CELLS, JUDGED = 6, 24
DAYS = 365


def measure() -> bool:
    """Print times and how many cells the planner itself confirms; return whether all agree and goals are reached."""
    reached = True
    for size, (goal, repairs) in SIZES.items():
        problem = plan_farms.planted(size, 1).problem
        solution = solve(problem, iterations=repairs)
        types = kinds(problem)
        table = headroom.fixed(problem, solution, types, days=DAYS)
        took = median(seconds(lambda: headroom.fixed(problem, solution, types, days=DAYS)) for _ in range(3))  # noqa: B023
        right, asked = confirmed(problem, solution, types, table)
        print(
            f"  {size}: a year of 4 types {took:6.2f} s (goal {goal} s), {right} of {asked} cells exact (goal all)"
        )
        reached &= took <= goal and right == asked
        if size == "medium":
            reached &= replanned(problem, solution, types, table)
    return reached


def kinds(problem: Problem) -> tuple[Batch, ...]:
    """Return the four made-up types of bird as types to ask about."""
    return tuple(plan_farms.batch(kind.name, kind, 100, Arrival(problem.start)) for kind in plan_farms.KINDS)


def confirmed(
    problem: Problem, solution: Solution, types: Sequence[Batch], table: Headroom
) -> tuple[int, int]:
    """Return of how many cells, spread over the year, the planner houses the birds and not one more."""
    right = asked = 0
    for place, kind in enumerate(types):
        joined = replace(problem, batches=(*problem.batches, kind), adopted=())
        yard = Yard(joined, solution.plans, DAYS + (kind.leave_age_days or 0))
        for day in range(place, DAYS, DAYS * len(types) // JUDGED):
            birds, arrival = int(table.birds[place, day]), problem.start + timedelta(days=day)
            fits = [not yard.attempt(kind, arrival, [count]).short for count in (birds, birds + 1) if count]
            asked += 1
            right += fits == [True, False][-len(fits) :]
    return right, asked


def replanned(problem: Problem, solution: Solution, types: Sequence[Batch], table: Headroom) -> bool:
    """Print what planning anew adds to some cells and what it takes; return whether it is quick enough."""
    took, gained = [], []
    for at in range(CELLS):
        kind, day = at % len(types), 30 + at * 40
        before = int(table.birds[kind, day])
        arrival = problem.start + timedelta(days=day)
        kept: list[headroom.Kept] = []
        took.append(seconds(lambda: kept.append(headroom.replanned(problem, solution, types[kind], arrival))))  # noqa: B023
        gained.append(f"{before}→{kept[0].birds}{'' if kept[0].best else '+'}")
    print(
        f"  medium: planned anew {median(took):6.2f} s a cell (goal {GOAL_REPLANNED} s): {', '.join(gained)}"
    )
    return median(took) <= GOAL_REPLANNED
