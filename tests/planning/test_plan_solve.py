"""The way in: always an answer, the same answer, told on the way, stopped when asked, near to the plan that holds."""

import os
import subprocess
import sys
from dataclasses import replace

import pytest

from bench.plan_farms import planted
from farm.planning import bounds, check, greedy, plan_check, plan_rooms, score
from farm.planning.atlas import Atlas
from farm.planning.draft import Draft
from farm.planning.ground import Ground
from farm.planning.problem import Problem
from farm.planning.repair import standing_short
from farm.planning.solve import solve
from tests.planning.plan_world import START, batch, brooder, day, farm, pen, solved, where

PROBE = """
from bench.plan_farms import planted
from farm.planning.solve import solve
for seed in (1, 2):
    found = solve(planted("small", seed).problem, seed=seed, iterations=40)
    print(found.digest, found.cost)
found = solve(planted("mid", 1).problem, iterations=30)
print(found.digest, found.cost)
"""


def test_a_farm_without_batches_has_an_empty_plan():
    found = solve(Problem(START, 30, (brooder(),), ()))
    assert (found.plans, found.cost, found.bound) == ((), 0, 0)


def test_a_farm_without_housing_has_everyone_nowhere():
    assert where(solved(Problem(START, 30, (), (batch(),)))) == [(None, 0, 70)]


def test_the_same_problem_and_seed_give_the_same_plan_in_every_process():
    said = set()
    for hashing in ("1", "2"):
        environment = os.environ | {"PYTHONHASHSEED": hashing}
        run = subprocess.run(
            [sys.executable, "-c", PROBE], env=environment, capture_output=True, text=True, check=True
        )
        said.add(run.stdout)
    assert len(said) == 1
    assert len(said.pop().split()) == 6


def test_the_order_a_problem_is_put_together_in_does_not_change_the_plan():
    problem = planted("small", 2).problem
    other = replace(problem, housings=problem.housings[::-1], batches=problem.batches[::-1])
    assert solve(other, iterations=20) == solve(problem, iterations=20)


@pytest.mark.parametrize("seed", range(1, 7))
def test_the_known_optimum_of_a_small_farm_is_reached_and_proved(seed):
    farm_ = planted("small", seed, certified=True)
    found = solve(farm_.problem, iterations=400)
    assert found.cost == found.bound == score.bill(farm_.problem, farm_.plans).total


@pytest.mark.parametrize("seed", (1, 2))
def test_the_known_optimum_of_a_farm_of_18_batches_is_reached_and_proved(seed):
    farm_ = planted("mid", seed, certified=True)
    found = solve(farm_.problem, iterations=1500)
    assert found.cost == found.bound == score.bill(farm_.problem, farm_.plans).total


@pytest.mark.parametrize(
    "size, certified", [("small", True), ("small", False), ("mid", True), ("medium", True)]
)
def test_the_planted_plan_is_sound_and_short_of_nothing(size, certified):
    farm_ = planted(size, 3, certified)
    found = solve(farm_.problem, iterations=0)
    assert plan_check.faults(farm_.problem, replace(found, plans=farm_.plans)) == ()
    assert score.bill(farm_.problem, farm_.plans).shortfall == 0
    if certified:
        assert score.bill(farm_.problem, farm_.plans).total == bounds.empty_farm(farm_.problem)


def test_a_plan_short_of_nothing_shows_no_breach_in_the_occupancy_of_the_board():
    farm_ = planted("mid", 1)
    found = solve(farm_.problem, iterations=150)
    assert score.bill(farm_.problem, found.plans).shortfall == 0
    rules = [(rule.one, rule.other) for rule in farm_.problem.apart if not rule.brooding_only]
    assert check.breaches(plan_rooms.load(farm_.problem, found.plans), apart=rules) == ()


def test_a_shortage_is_the_same_on_the_board_as_in_the_bill():
    problem = farm(batch(), housings=(brooder(area_dm2=75), pen(area_dm2=900)))
    found = solved(problem)
    (breach,) = check.breaches(plan_rooms.load(problem, found.plans))
    assert (breach.kind, breach.room, breach.start, breach.end) == ("room", "brooder", day(0), day(28))
    assert (round(breach.short * 100), breach.birds) == (25, score.bill(problem, found.plans).birds_short)


def test_every_improvement_is_told_with_its_cost_and_bound():
    told = []
    farm_ = planted("small", 2)
    found = solve(farm_.problem, iterations=60, report=lambda progress: told.append(progress) or True)
    costs = [progress.cost for progress in told]
    assert costs == sorted(costs, reverse=True)
    assert told[0].iteration == 0
    assert costs[-1] == found.cost
    assert {progress.bound for progress in told} == {found.bound}
    assert [progress.solution().cost for progress in told] == costs
    assert told[0].bill(farm_.problem).total == costs[0]


def test_a_caller_who_says_stop_gets_the_best_plan_so_far():
    farm_ = planted("mid", 1)
    told = []

    def report(progress):
        told.append(progress.cost)
        return len(told) < 3

    found = solve(farm_.problem, iterations=10_000, report=report)
    assert found.cancelled
    assert found.iterations < 10_000
    assert found.cost == told[-1]


def test_a_run_ends_when_its_plan_is_proved_the_best():
    found = solve(farm(batch()), iterations=1000)
    assert (found.cost, found.bound, found.gap, found.iterations) == (1070, 1000, (1070 - 1000) / 1070, 1000)
    roomy = solve(farm(batch(), housings=(brooder(area_dm2=400), pen(area_dm2=900))), iterations=1000)
    assert (roomy.cost, roomy.bound, roomy.gap, roomy.iterations) == (1000, 1000, 0.0, 0)


def test_more_steps_never_end_with_a_worse_plan_than_the_first():
    problem = planted("mid", 3).problem
    assert solve(problem, iterations=80).cost <= solve(problem, iterations=0).cost


def test_the_plan_that_holds_is_kept_where_nothing_has_changed():
    problem = planted("mid", 2).problem
    adopted = solve(problem, iterations=60).plans
    found = solve(replace(problem, adopted=adopted), iterations=0)
    assert found.plans == adopted


def test_one_late_arrival_moves_few_other_batches():
    problem = planted("mid", 2).problem
    adopted = solve(problem, iterations=300).plans
    late = problem.batches[5]
    day_late = late.arrival.day.fromordinal(late.arrival.day.toordinal() + 7)
    changed = tuple(
        replace(each, arrival=type(each.arrival)(day_late)) if each.key == late.key else each
        for each in problem.batches
    )
    found = solve(replace(problem, batches=changed, adopted=adopted), iterations=100)
    touched = [plan.batch for plan, old in zip(found.plans, adopted, strict=True) if plan != old]
    assert len(touched) <= 3
    assert score.bill(problem, adopted).shortfall == 0


def test_the_bound_is_met_where_batches_do_not_meet():
    problem = farm(batch(), housings=(brooder(area_dm2=75), pen(area_dm2=900)))
    assert bounds.empty_farm(problem) == 25 * 28 * 100 + 1000


def test_the_batches_standing_short_are_those_in_the_way_of_each_other():
    problem = farm(
        batch("one"),
        batch("two"),
        batch("three", arrives=100),
        housings=(brooder(area_dm2=150), pen(area_dm2=900)),
    )
    draft = Draft(Atlas(Ground(problem)))
    greedy.begin(draft)
    assert [problem.batches[at].key for at in standing_short(draft)] == ["one", "two"]
