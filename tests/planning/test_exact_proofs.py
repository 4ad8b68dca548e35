"""Proofs by the general solver: against every plan of a tiny farm, and against the planner's own plans."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from bench import plan_farms
from farm.planning import exact, plan_check
from farm.planning.problem import Apart, Capacity, PartSize
from farm.planning.solve import solve
from tests.planning.plan_brute import cheaper
from tests.planning.plan_strategies import problems
from tests.planning.plan_world import batch, bill, brooder, day, farm, past, pen, pin, where
from tests.planning.test_plan_optimum import every_plan, tiny


def proved(problem, **options):
    """The best plan, which the judge finds sound."""
    proof = exact.prove(problem, **options)
    assert (proof.status, proof.bound) == ("proved", proof.solution.cost)
    assert [fault for fault in plan_check.faults(problem, proof.solution) if not fault.forced] == []
    return proof.solution


@pytest.mark.parametrize("seed", range(3))
def test_no_plan_of_a_tiny_farm_is_cheaper_than_the_proved_one(seed):
    problem = tiny(seed, 2)
    assert cheaper(problem, every_plan(problem), proved(problem).cost) is None


@pytest.mark.parametrize("seed", range(2))
def test_no_arrival_within_its_days_makes_a_tiny_farm_cheaper_than_the_proved_plan(seed):
    problem = tiny(seed, 2, window=True)
    assert cheaper(problem, every_plan(problem), proved(problem).cost) is None


@pytest.mark.parametrize("seed", (1, 3))
def test_the_planner_is_within_two_percent_of_the_proved_plan_of_a_small_farm(seed):
    problem = plan_farms.planted("small", seed).problem
    best = proved(problem, seconds=30)
    assert best.cost <= solve(problem, iterations=300).cost <= 1.02 * best.cost


def test_a_farm_made_so_that_its_best_plan_is_known_is_proved_to_cost_just_that():
    known = plan_farms.planted("small", 3, certified=True)
    assert (
        proved(known.problem).cost
        == exact.prove(known.problem, warm=solve(known.problem, iterations=50)).bound
    )
    assert proved(known.problem).cost == solve(known.problem, iterations=0).bound


@settings(
    max_examples=8,
    deadline=None,
    phases=[Phase.generate],
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
@given(problems(most_batches=3, most_housings=3, days=56))
def test_a_proof_never_promises_more_than_the_planner_reaches(problem):
    found = solve(problem, iterations=60)
    proof = exact.prove(problem, warm=found, seconds=3)
    assert proof.bound <= proof.solution.cost <= found.cost
    assert [fault for fault in plan_check.faults(problem, proof.solution) if not fault.forced] == []


def test_one_batch_alone_moves_once():
    # 1000 for the move and 1 for each of 70 days in a housing just large enough.
    best = proved(farm(batch()))
    assert (best.cost, where(best)) == (1070, [("brooder", 0, 28), ("pen", 28, 70)])


def test_a_batch_without_a_housing_is_nowhere_at_its_price():
    # 100 dm² for 28 days and 200 for 42, at 200 each.
    problem = farm(batch(), housings=[brooder(species=frozenset({"duck"}))])
    assert proved(problem).cost == (28 * 100 + 42 * 200) * 200


def test_rest_days_keep_the_second_batch_out_until_they_are_over():
    # The pen is empty on day 70, when the second must leave its brooder: one day of its 200 dm² is nowhere.
    rooms = (brooder(area_dm2=400), pen(one_batch=True, rest_days=1))
    problem = farm(batch(), batch("blues", arrives=35), housings=rooms, move_weekdays=frozenset())
    assert bill(problem, proved(problem))["nowhere"] == 200


def test_a_rest_that_a_pin_breaks_is_no_obstacle_to_the_proof():
    rooms = (brooder(area_dm2=400), pen(one_batch=True, rest_days=14))
    pins = (pin("pen", 70, 105, "blues"), pin("pen", 28, 70))
    problem = farm(batch(), batch("blues", arrives=35), housings=rooms, pins=pins)
    assert where(proved(problem), "blues") == [("brooder", 35, 70), ("pen", 70, 105)]


def test_batches_too_far_apart_in_age_do_not_share():
    problem = farm(
        batch(leave_age_days=28),
        batch("blues", arrives=14, leave_age_days=28),
        housings=(brooder(area_dm2=400, max_age_gap_days=7),),
    )
    # The second comes in when the first leaves, 14 days after its arrival.
    assert bill(problem, proved(problem))["nowhere"] == 1400


def test_species_parted_only_while_brooding_may_meet_later():
    rooms = (brooder(area_dm2=400), brooder("second"), pen(area_dm2=400))
    problem = farm(
        batch(), batch("ducks", species="duck"), housings=rooms, apart=(Apart("chicken", "duck", True),)
    )
    best = proved(problem)
    assert bill(problem, best)["moves"] == 2
    assert {where(best, key)[0][0] for key in ("reds", "ducks")} == {"brooder", "second"}


def test_parts_share_a_housing_for_one_batch():
    problem = farm(
        batch(parts=(PartSize("a", 4), PartSize("b", 6))),
        housings=(brooder(one_batch=True), pen(one_batch=True)),
    )
    # One part moves a week before the other, and in that week neither housing is nearly full.
    assert bill(problem, proved(problem)) == {"moves": 2, "spare": 63}


def test_a_stay_is_no_shorter_than_the_least_even_where_a_short_one_would_be_cheaper():
    # The first pen closes on day 35: a week there is too short, so the birds stay in the brooder until then.
    rooms = (brooder(), pen("a", in_service_to=day(35)), pen("b", in_service_from=day(32)))
    problem = farm(batch(min_stay_days=10), housings=rooms)
    assert where(proved(problem)) == [("brooder", 0, 32), ("b", 32, 70)]


def test_birds_here_already_go_on_from_where_they_are():
    here = batch(arrives=-28, history=(past("brooder", -28, 7),), leave_age_days=70)
    problem = farm(here)
    assert where(proved(problem)) == [("brooder", 0, 7), ("pen", 7, 42)]


def test_the_plan_to_start_from_is_returned_when_nothing_is_better():
    problem = farm(batch())
    found = solve(problem)
    assert exact.prove(problem, warm=found).solution.plans == found.plans


def test_a_plan_for_another_problem_is_no_start():
    with pytest.raises(ValueError, match="another problem"):
        exact.prove(farm(batch(birds=9)), warm=solve(farm(batch())))


def test_a_proof_over_unsplit_plans_says_so():
    problem = farm(batch(max_parts=2))
    assert not exact.prove(problem).whole
    assert exact.prove(replace(problem, batches=(batch(),))).whole


def test_out_of_time_the_plan_to_start_from_stands_with_an_open_verdict():
    problem = plan_farms.planted("mid", 1).problem
    found = solve(problem, iterations=0)
    proof = exact.prove(problem, warm=found, seconds=0.01)
    assert (proof.status, proof.solution.plans) == ("open", found.plans)
    assert proof.bound <= found.cost


def test_a_report_that_says_no_ends_the_proof_with_the_plan_to_start_from():
    problem = plan_farms.planted("mid", 2).problem
    found, told = solve(problem, iterations=0), []
    proof = exact.prove(problem, warm=found, report=lambda now: told.append(now) or False)
    assert (len(told), proof.status, proof.solution.plans) == (1, "open", found.plans)
    assert proof.bound <= proof.solution.cost == told[0].cost


def test_a_proof_tells_how_far_it_is_and_comes_to_the_same_end():
    problem = plan_farms.planted("small", 1).problem
    found, told = solve(problem, iterations=0), []
    proof = exact.prove(problem, warm=found, report=lambda now: told.append(now) or True)
    assert proof == exact.prove(problem, warm=found)
    assert told
    assert all(proof.bound >= now.bound and now.cost >= proof.solution.cost for now in told)
    assert [now.seconds for now in told] == sorted(now.seconds for now in told)


def test_moves_are_decided_on_move_points_but_room_is_counted_every_day():
    # On a Wednesday, between two move points, the floor is halved for one day.
    short = replace(brooder(), changes=())
    wednesday = day(0) + timedelta(days=4)
    rooms = (
        replace(short, changes=(Capacity(wednesday, 50), Capacity(wednesday + timedelta(days=1), 100))),
        pen(),
    )
    problem = farm(batch(), housings=rooms)
    assert bill(problem, proved(problem))["room"] == 50
