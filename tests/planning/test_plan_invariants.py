"""Whatever the farm, the plan is one: hypothesis draws farms and the judge, who knows no solver, reads every plan."""

from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning import bounds, plan_check, score, solution
from farm.planning import problem as problems_of
from farm.planning.solve import solve
from tests.planning.plan_strategies import problems

FEW = settings(max_examples=20, deadline=None)


@FEW
@given(problems(), st.integers(0, 3))
def test_no_plan_breaks_a_rule_that_a_pin_does_not_force(problem, seed):
    found = solve(problem, seed=seed, iterations=30)
    assert [fault for fault in plan_check.faults(problem, found) if not fault.forced] == []


@settings(max_examples=3, deadline=None)
@given(problems(most_batches=30, most_housings=12, days=182))
def test_no_plan_of_a_larger_farm_breaks_a_rule(problem):
    found = solve(problem, iterations=40)
    assert [fault for fault in plan_check.faults(problem, found) if not fault.forced] == []


@FEW
@given(problems(most_batches=5))
def test_the_cost_is_what_the_score_counts_and_never_below_the_bound(problem):
    found = solve(problem, iterations=20)
    assert found.cost == score.bill(problem, found.plans).total
    assert bounds.empty_farm(problem) <= found.cost


@FEW
@given(problems(most_batches=4))
def test_a_problem_and_its_plan_survive_the_journey_through_json(problem):
    found = solve(problem, iterations=3)
    assert problems_of.from_json(problem.to_json()) == problem
    assert solution.from_json(found.to_json()) == found
