"""Plans of invented farms: how soon there is one, how soon it is whole, how good it is, against planning by rule.

`FEATHERDAYS_BENCH_LONG=1` adds the 60-second runs and the farm of 1,000 batches. Seconds are of processor time: the
engine is one thread, and other work on the machine then counts little.
"""

from __future__ import annotations

import os
import resource
from collections.abc import Callable
from dataclasses import dataclass
from statistics import mean
from time import process_time

from bench.plan_farms import Planted, planted
from bench.plan_rules import first_fit, one_brooder_each
from farm.planning import exact, score
from farm.planning.solution import BatchPlan
from farm.planning.solve import Progress, solve

SEEDS = (1, 2, 3)
#: size: goals for the first plan and for no avoidable shortage, in seconds.
GOALS = {
    "small": (0.02, 0.2),
    "mid": (0.05, 0.5),
    "medium": (0.1, 1.0),
    "large": (0.5, 3.0),
    "huge": (3.0, 20.0),
}
BUSY_LOAD = 0.5
#: Sizes the exact model is given the same time on; beyond them it is gigabytes before it has a plan.
EXACT_SIZES = ("small", "mid", "medium")
EXACT_SECONDS = 10


@dataclass
class Run:
    """One farm planned for so many seconds: cost of the plan, bound, and when it came to be, by the engine's clock."""

    cost: int
    bound: int
    first: float
    whole: float | None
    shortfall: int
    steps: int


def measure() -> bool:
    """Print the tables; return whether the first plans and the times without shortage reach their goals."""
    long = os.environ.get("FEATHERDAYS_BENCH_LONG") == "1"
    load = os.getloadavg()[0]
    if load > BUSY_LOAD:
        print(f"  the machine is busy (load {load:.1f}): read the times with care")
    sizes = ("small", "mid", "medium", "large", *(("huge",) if long else ()))
    budgets = (1, 10, *((60,) if long else ()))
    reached = [_size(size, certified, budgets) for size in sizes for certified in (False, True)]
    return all(reached)


def _size(size: str, certified: bool, budgets: tuple[int, ...]) -> bool:
    farms = [planted(size, seed, certified) for seed in SEEDS]
    runs = {budget: [timed(farm, budget) for farm in farms] for budget in budgets}
    longest = runs[budgets[-1]]
    first = max(run.first for run in longest)
    whole = [run.whole for run in longest]
    goal_first, goal_whole = GOALS[size]
    reached = first <= goal_first and all(when is not None and when <= goal_whole for when in whole)
    said = ", ".join("never" if when is None else f"{when:.2f}" for when in whole)
    family = "certified: planted = optimum" if certified else "planted"
    print(
        f"  {size} ({family}), seeds {SEEDS[0]}-{SEEDS[-1]}; {longest[0].steps / budgets[-1]:.0f} steps a second"
    )
    print(
        f"    first plan   {first:6.3f} s at most (goal {goal_first}), whole after {said} s (goal {goal_whole})"
    )
    for budget in budgets:
        found = [(run.cost, run.shortfall) for run in runs[budget]]
        print(f"    {budget:3d} s        {_quality(farms, found, runs[budget])}")
    for name, rule in (("first fit", first_fit), ("one brooder", one_brooder_each)):
        print(f"    {name:12} {_quality(farms, [_by_rule(farm, rule) for farm in farms], longest)}")
    if size in EXACT_SIZES:
        print(f"    exact {EXACT_SECONDS:3d} s  {_exact(farms, longest)}")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"    memory       {peak:6.0f} MB at most so far")
    return reached


def _quality(farms: list[Planted], found: list[tuple[int, int]], runs: list[Run]) -> str:
    """Say how far above the bound and below the planted plan the costs are, and how many plans fall short."""
    above = mean((cost - run.bound) / run.bound for (cost, _), run in zip(found, runs, strict=True))
    of = mean(
        cost / score.bill(farm.problem, farm.plans).total
        for (cost, _), farm in zip(found, farms, strict=True)
    )
    short = sum(shortfall > 0 for _, shortfall in found)
    text = f"{100 * above:9.1f} % above the bound, {100 * of:7.1f} % of planted"
    return text + (f", {short} of {len(found)} short of room" if short else "")


def _exact(farms: list[Planted], runs: list[Run]) -> str:
    """Say how far the exact model comes by itself, from nothing, in the same time."""
    proofs = [exact.prove(farm.problem, seconds=EXACT_SECONDS) for farm in farms]
    costs = [
        (proof.solution.cost - run.bound) / run.bound
        for proof, run in zip(proofs, runs, strict=True)
        if proof.solution is not None
    ]
    proved = sum(proof.status == "proved" for proof in proofs)
    if not costs:
        return f"no plan on any of {len(farms)}"
    return f"{100 * mean(costs):9.1f} % above the bound on {len(costs)} of {len(farms)}, {proved} proved"


def _by_rule(farm: Planted, rule: Callable[..., tuple[BatchPlan, ...]]) -> tuple[int, int]:
    bill = score.bill(farm.problem, rule(farm.problem))
    return bill.total, bill.shortfall


def timed(farm: Planted, seconds: float) -> Run:
    """Plan a farm for about so many seconds: the number of steps is set from a trial, as temperature follows steps."""
    trial = _run(farm, 60, seconds)[1]
    steps = max(60, int(60 * seconds / max(trial, 1e-3)))
    run, _ = _run(farm, steps, seconds)
    return run


def _run(farm: Planted, steps: int, seconds: float) -> tuple[Run, float]:
    clock = process_time
    begun, spent_telling = clock(), 0.0
    first, whole = None, None

    def report(progress: Progress) -> bool:
        nonlocal first, whole, spent_telling
        now = clock()
        at = now - begun - spent_telling
        first = at if first is None else first
        if progress.improved and whole is None and not progress.bill(farm.problem).shortfall:
            whole = at
        spent_telling += clock() - now
        return at < seconds * 1.2

    found = solve(farm.problem, iterations=steps, report=report)
    taken = clock() - begun - spent_telling
    bill = score.bill(farm.problem, found.plans)
    return Run(found.cost, found.bound, first or 0.0, whole, bill.shortfall, found.iterations), taken - (
        first or 0.0
    )
