"""Shortfalls of a farm of 40 batches explained, with the first verified way out of each; all ways; proofs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from statistics import median

from bench import plan_farms
from bench.timing import seconds
from farm.planning import seating, ways_out
from farm.planning.problem import Problem
from farm.planning.shortfalls import Shortfall, shortfalls
from farm.planning.solution import Solution
from farm.planning.solve import solve
from farm.planning.tables import tables

GOAL_FIRST = 0.100
SEEDS = (1, 2, 3)
#: Floor left of what the planted plan needs, in hundredths: so little that nobody can plan it away.
TIGHT_PERCENT, REPAIRS = 72, 150
MOST = 4


def measure() -> bool:
    """Print times and what helps; return whether an explanation with a way out is quick enough."""
    first, every, helped = list[float](), list[float](), Counter[str]()
    for seed in SEEDS:
        problem = tight(plan_farms.planted("medium", seed).problem)
        solution = solve(problem, iterations=REPAIRS)
        found = shortfalls(problem, solution.plans)
        for short in found[:MOST]:
            first.append(seconds(lambda: explained(problem, solution, short)))  # noqa: B023
            answers: list[ways_out.Answer] = []
            every.append(seconds(lambda: answers.append(ways_out.find(problem, solution, short))))  # noqa: B023
            helped.update({way.kind for way in answers[0].ways} or {"nothing"})
        table = tables(problem, solution.plans)
        proofs: list[Mapping[date, seating.Seating]] = []
        took = seconds(lambda: proofs.append(seating.unavoidable(problem, solution)))  # noqa: B023
        proved, lacking = sum(each.dm2 for each in proofs[0].values()), int(seating.short_by_day(table).sum())
        print(
            f"  seed {seed}: {len(found)} shortfalls, {proved} of {lacking} dm²·days proved unavoidable in {took:.2f} s"
        )
    if not first:
        print("  no shortfall to explain: the farms are not tight enough")
        return False
    kinds = ", ".join(f"{kind} {count}" for kind, count in sorted(helped.items()))
    print(f"  explanation and first way out {median(first) * 1000:6.0f} ms (goal {GOAL_FIRST * 1000:.0f} ms)")
    print(f"  all ways out                  {median(every):6.2f} s; helped: {kinds}")
    return median(first) <= GOAL_FIRST


def tight(problem: Problem) -> Problem:
    """Return the problem with less floor everywhere."""
    smaller = (
        replace(each, area_dm2=max(each.area_dm2 * TIGHT_PERCENT // 100, 30)) for each in problem.housings
    )
    return replace(problem, housings=tuple(smaller))


def explained(problem: Problem, solution: Solution, short: Shortfall) -> None:
    """Find the plan's shortfalls with their sentences, and one way out of this one."""
    shortfalls(problem, solution.plans)
    ways_out.first(problem, solution, short)
