"""The measurement of plans: farms the same for the same seed, rules that keep the rules, a run that is timed."""

import pytest

from bench import __main__ as bench
from bench.plan import timed
from bench.plan_farms import SIZES, Size, planted
from bench.plan_rules import first_fit, one_brooder_each
from farm.planning import plan_check, score
from farm.planning.solution import Solution
from farm.planning.solve import solve


def test_the_plan_measurement_is_found_by_its_name():
    assert "plan" in bench.measurements()


def test_a_farm_is_the_same_for_the_same_seed_and_another_for_another():
    assert planted("mid", 4) == planted("mid", 4)
    assert planted("mid", 4).problem.digest != planted("mid", 5).problem.digest


@pytest.mark.parametrize("name", ["small", "mid", "medium"])
def test_a_farm_has_the_size_its_name_says(name):
    problem = planted(name, 1).problem
    assert Size(len(problem.batches), len(problem.housings), problem.days // 7) == SIZES[name]


@pytest.mark.parametrize("rule", [first_fit, one_brooder_each])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_planning_by_rule_keeps_every_rule_and_is_dearer_than_the_planner(rule, seed):
    problem = planted("mid", seed).problem
    plans = rule(problem)
    assert plan_check.faults(problem, Solution(problem.digest, plans, 0, 0)) == ()
    assert solve(problem, iterations=100).cost < score.bill(problem, plans).total


def test_a_timed_run_says_when_its_plan_was_whole():
    run = timed(planted("small", 1), 0.3)
    assert run.shortfall == 0
    assert 0 < run.first <= run.whole < 0.4
    assert run.bound <= run.cost
