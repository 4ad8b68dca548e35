"""A finished plan as the engine's arrays again, and batches put back into it."""

from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, Phase, assume, given, settings

from farm.planning import score, standing
from farm.planning.loads import span
from farm.planning.solve import solve
from farm.planning.tables import tables
from farm.planning.yard import Yard, fitted, lives
from tests.planning.plan_strategies import problems
from tests.planning.plan_world import batch, brooder, day, farm, past, pen, plan, solved, stay, where

QUICK = settings(
    max_examples=10,
    deadline=None,
    phases=[Phase.generate],
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


@QUICK
@given(problems(most_batches=5, most_housings=4, days=84))
def test_what_is_free_is_what_the_score_leaves_free(problem):
    plans = solve(problem, iterations=5).plans
    table, state = tables(problem, plans), standing.of(problem, plans)
    assert np.array_equal(state.free[0], table.area_given - table.area)


@QUICK
@given(problems(most_batches=4, most_housings=4, days=84))
def test_a_batch_put_back_adds_the_shortage_it_says(problem):
    # One price for every unit of shortage, so that the bill counts what an attempt does.
    even = replace(problem.weights, room=1, nowhere=1, feeder=1, drinker=1, cold=0)
    problem = replace(problem, weights=even, pins=(), adopted=())
    plans = solve(problem, iterations=5).plans
    last = problem.batches[-1]
    # What birds lack where the past still holds them is no choice.
    assume(all(stay.end <= problem.start for stay in last.history))
    rest = tuple(each for each in plans if each.batch != last.key)
    arrival = next(each.arrival for each in plans if each.batch == last.key)
    attempt = Yard(problem, rest).attempt(last, arrival)
    added = score.bill(problem, (*rest, attempt.plan)).shortfall - score.bill(problem, rest).shortfall
    assert added == attempt.short


def test_a_question_about_later_days_draws_out_birds_that_stay():
    problem = farm(batch(leave_age_days=None))
    state = standing.of(problem, solved(problem, 5).plans, 400)
    assert state.free[0].shape == (2, 400)
    assert state.free[0][state.ground.row["pen"], 399] == 0


def test_the_rest_of_a_housing_left_before_the_plan_still_runs():
    problem = farm(
        batch(arrives=-30, history=(past("brooder", -30, -2), past("pen", -2, 0))),
        housings=(brooder(rest_days=5), pen()),
    )
    state = standing.of(problem, solved(problem, 5).plans)
    assert (state.entry[0, state.ground.row["brooder"], :5] > 0).tolist() == [True, True, True, False, False]


def test_a_batch_goes_back_where_it_was_when_nothing_else_is_free():
    problem = farm(batch(), batch("blues", arrives=35))
    found = solved(problem)
    rest = [each for each in found.plans if each.batch != "reds"]
    attempt = Yard(problem, rest).attempt(problem.batches[1], day(0))
    assert (attempt.short, attempt.plan.parts[0].stays) == (0, found.by_batch["reds"].parts[0].stays)
    assert where(found) == [("brooder", 0, 28), ("pen", 28, 70)]


def test_parts_of_one_batch_are_put_beside_each_other():
    rooms = (brooder(area_dm2=60, one_batch=True), brooder("other", area_dm2=40), pen())
    attempt = Yard(farm(batch(), housings=rooms), ()).attempt(batch(), day(0), [6, 4])
    assert attempt.short == 0
    assert [part.stays[0].housing for part in attempt.plan.parts] == ["brooder", "other"]


def test_an_attempt_leaves_the_yard_as_it_was():
    yard = Yard(farm(batch(), housings=(brooder(area_dm2=60), brooder("other", area_dm2=40), pen())), ())
    before = [table.copy() for table in (*yard.state.free, yard.state.entry, yard.state.low)]
    yard.attempt(batch(), day(0), [6, 4])
    after = (*yard.state.free, yard.state.entry, yard.state.low)
    assert all(np.array_equal(one, other) for one, other in zip(before, after, strict=True))


def test_plans_are_drawn_out_or_cut_to_the_end_of_another_problem():
    stays = plan(stay("brooder", 0, 28), stay("pen", 28, 182))
    for days in (100, 300):
        other = farm(batch(leave_age_days=None), days=days)
        (found,) = fitted(other, [stays])
        assert found.parts[0].stays[-1].end == span(other).end == day(days)


def test_a_plan_of_birds_that_leave_is_not_touched():
    stays = plan(stay("brooder", 0, 28), stay("pen", 28, 70))
    assert fitted(farm(batch(), days=300), [stays]) == (stays,)


def test_a_batch_is_there_from_its_arrival_or_the_plans_first_day():
    problem = farm(batch())
    assert lives(plan(stay("brooder", 3, 28), stay("pen", 28, 70), arrives=3), problem) == (day(3), day(70))
    assert lives(plan(stay("brooder", 0, 9), arrives=-5), problem) == (day(0), day(9))
