"""What no plan can avoid on a day, told apart from what was only not found."""

from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, Phase, given, settings

from farm.planning import seating
from farm.planning.problem import Apart, Arrival, PartSize
from farm.planning.score import bill
from farm.planning.solution import Solution
from farm.planning.solve import solve
from farm.planning.tables import tables
from tests.planning.plan_strategies import problems
from tests.planning.plan_world import batch, brooder, day, farm, past, pen, pin, plan, stay


def seat(problem, number):
    found = seating.seat(problem, day(number))
    return found.dm2, found.birds


def test_two_batches_in_a_brooder_for_one_lack_the_floor_of_the_second():
    assert seat(farm(batch(), batch("blues")), 3) == (100, 10)


def test_floor_enough_for_all_is_no_shortage():
    assert seat(farm(batch(), batch("blues"), housings=[brooder(area_dm2=200)]), 3) == (0, 0)


def test_a_housing_for_one_batch_leaves_the_other_without_however_large_it_is():
    assert seat(
        farm(batch(), batch("blues", birds=7), housings=[brooder(area_dm2=900, one_batch=True)]), 3
    ) == (70, 7)


def test_ages_too_far_apart_are_seated_apart():
    rooms = [brooder(area_dm2=900, max_age_gap_days=6)]
    assert seat(farm(batch(), batch("blues", arrives=7, birds=4), housings=rooms), 10) == (40, 4)


def test_species_are_seated_apart_while_either_needs_heat():
    rooms = [brooder(area_dm2=900)]
    both = (batch(), batch("ducks", species="duck", birds=6))
    assert seat(farm(*both, housings=rooms, apart=(Apart("chicken", "duck", True),)), 3) == (60, 6)
    assert seat(farm(*both, housings=rooms, apart=(Apart("chicken", "duck", True),)), 30) == (0, 0)


def test_a_batch_that_may_come_another_day_is_left_out():
    later = Arrival(day(0), day(0), day(20), frozenset({5}))
    assert seat(farm(batch(), batch("blues", arrival=later)), 3) == (0, 0)


def test_a_batch_that_is_here_whichever_day_it_came_is_seated_at_the_age_that_asks_least():
    # On day 30 it is 30 or 16 days old: 200 or 100 dm², of which 40 are at least two of the older birds'.
    either = Arrival(day(0), day(0), day(15), frozenset({5}))
    rooms = [brooder(area_dm2=60)]
    one = batch(arrival=either, stages=batch().stages[:1], leave_age_days=35)
    assert seat(farm(one, housings=rooms), 30) == (40, 2)


def test_a_pin_holds_a_batch_where_it_is_whatever_it_lacks_there():
    rooms = [brooder(), brooder("small", area_dm2=30), pen()]
    assert seat(farm(batch(), housings=rooms, pins=(pin("small", 0, 10),)), 3) == (70, 7)


def test_a_pin_of_one_part_leaves_the_other_free():
    rooms = [brooder(area_dm2=60), brooder("small", area_dm2=30), pen()]
    parts = batch(parts=(PartSize("a", 4), PartSize("b", 6)))
    assert seat(farm(parts, housings=rooms, pins=(pin("small", 0, 10, part="a"),)), 3) == (10, 1)


def test_the_past_is_forgotten_but_not_while_birds_must_stay():
    rooms = [brooder(), brooder("small", area_dm2=30), pen()]
    here = batch(arrives=-7, history=(past("small", -7, 4),))
    assert [seat(farm(here, housings=rooms), number) for number in (3, 4)] == [(70, 7), (0, 0)]


def test_a_batch_that_may_be_split_is_seated_in_parts():
    rooms = [brooder(area_dm2=60), brooder("other", area_dm2=30)]
    assert seat(farm(batch(max_parts=2), housings=rooms), 3) == (10, 1)
    assert seat(farm(batch(), housings=rooms), 3) == (40, 4)


def test_only_days_a_plan_is_short_on_are_asked_about_and_each_is_proved_by_itself():
    problem = farm(batch(), batch("blues", arrives=7, leave_age_days=14))
    found = seating.unavoidable(problem, solve(problem, iterations=20))
    assert set(found) == {day(number) for number in range(7, 21)}
    assert {each.dm2 for each in found.values()} == {100}


def test_a_shortage_that_a_better_plan_avoids_is_not_called_unavoidable():
    problem = farm(batch(), housings=[brooder(), brooder("small", area_dm2=30), pen()])
    bad = plan(stay("small", 0, 28), stay("pen", 28, 70))
    solution = Solution(problem.digest, (bad,), bill(problem, (bad,)).total, 0)
    found = seating.unavoidable(problem, solution)
    assert (len(found), {each.dm2 for each in found.values()}) == (28, {0})


@settings(
    max_examples=15,
    deadline=None,
    phases=[Phase.generate],
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
@given(problems(most_batches=5, most_housings=4, days=70))
def test_no_plan_ever_lacks_less_than_was_called_unavoidable(problem):
    solution = solve(problem, iterations=20)
    table = tables(problem, solution.plans)
    short = seating.short_by_day(table)
    days = np.flatnonzero(short)[::9]
    for column in days:
        assert seating.seat(problem, table.days.day(int(column)), 0.5).dm2 <= short[column]


def test_out_of_time_nothing_is_claimed():
    problem = farm(
        *(batch(f"b{number}", birds=3 + number) for number in range(12)), housings=[brooder(), pen()]
    )
    assert 0 <= seating.seat(problem, day(3), 0.0).dm2 <= seating.seat(problem, day(3)).dm2


def test_a_farm_that_gives_more_floor_lacks_no_more():
    few = farm(batch(), batch("blues"), housings=[brooder(area_dm2=130)])
    more = replace(few, housings=(brooder(area_dm2=150),))
    assert (seat(few, 3)[0], seat(more, 3)[0]) == (70, 50)
