"""The edges of a plan: its first and last day, the past before it, rest days, seasons and pins that begin and end."""

from dataclasses import replace

from farm.planning import plan_check
from farm.planning.problem import Arrival, Capacity, Left, PartSize, Stage
from farm.planning.solve import solve
from tests.planning.plan_world import (
    batch,
    bill,
    brooder,
    day,
    farm,
    past,
    pen,
    pin,
    plan,
    solved,
    stages,
    stay,
    where,
)


def test_a_move_due_after_the_last_day_shown_is_planned_and_charged():
    problem = farm(batch(), days=20)
    found = solved(problem)
    assert where(found) == [("brooder", 0, 28), ("pen", 28, 70)]
    assert bill(problem, found)["moves"] == 1


def test_birds_that_stay_are_planned_to_the_last_leaving_of_all():
    kept = batch("kept", leave_age_days=None, species="duck")
    problem = farm(
        kept, batch("reds", arrives=7), days=30, housings=(brooder(area_dm2=400), pen(area_dm2=900))
    )
    assert where(solved(problem), "kept")[-1] == ("pen", 28, 77)


def test_birds_that_come_on_the_last_day_and_stay_are_planned_for_that_day():
    problem = farm(batch(arrives=29, leave_age_days=None), days=30)
    assert where(solved(problem)) == [("brooder", 29, 30)]


def test_staying_where_the_birds_are_today_is_no_move():
    here = batch(arrival=Arrival(day(-40)), history=(past("brooder", -40, -10), past("pen", -10, 0)))
    problem = farm(here)
    found = solved(problem)
    assert where(found) == [("pen", 0, 30)]
    assert "moves" not in bill(problem, found)


def test_leaving_where_the_birds_are_today_is_a_move():
    here = batch(arrival=Arrival(day(-40)), history=(past("brooder", -40, 0),))
    problem = farm(here)
    found = solved(problem)
    assert where(found) == [("pen", 0, 30)]
    assert bill(problem, found)["moves"] == 1


def test_birds_that_must_not_be_moved_yet_stay_until_the_day():
    here = batch(arrival=Arrival(day(-40)), history=(past("brooder", -40, 3),))
    assert where(solved(farm(here))) == [("brooder", 0, 3), ("pen", 3, 30)]


def test_rest_runs_on_behind_the_past():
    gone = Left("brooder", "chicken", day(-2))
    problem = farm(batch(), housings=(brooder(rest_days=3), brooder("other"), pen()), left=(gone,))
    assert where(solved(problem))[0][0] == "other"


def test_on_the_day_the_rest_ends_the_housing_is_free():
    gone = Left("brooder", "chicken", day(-3))
    problem = farm(batch(), housings=(brooder(rest_days=3), pen()), left=(gone,))
    assert where(solved(problem))[0] == ("brooder", 0, 28)


def test_a_housing_is_left_in_time_to_rest_before_a_pin():
    held = batch("later", arrives=35)
    housings = (brooder(rest_days=7, one_batch=True), pen(area_dm2=600))
    problem = farm(batch(), held, housings=housings, pins=(pin("brooder", 35, 63, "later"),))
    assert where(solved(problem)) == [("brooder", 0, 28), ("pen", 28, 70)]


def test_birds_leave_on_the_last_day_that_lets_a_housing_rest_before_a_pin():
    held = batch("later", arrives=34)
    housings = (brooder(rest_days=7, one_batch=True), pen(area_dm2=600))
    problem = farm(batch(), held, housings=housings, pins=(pin("brooder", 34, 62, "later"),))
    found = solved(problem)
    assert where(found) == [("brooder", 0, 27), (None, 27, 28), ("pen", 28, 70)]
    assert where(found, "later")[0][:2] == ("brooder", 34)


def test_a_batch_comes_back_to_its_own_housing_without_rest():
    # The pen is closed for a week, and the brooder suits as well: out and back in.
    anywhere = (Stage(frozenset({"brooder", "pen"}), 0, None),)
    here = batch(stages=anywhere, arrival=Arrival(day(-40)), history=(past("pen", -40, 0),))
    problem = farm(
        here,
        housings=(brooder(rest_days=30), pen(rest_days=30)),
        pins=(pin("brooder", 7, 14), pin("pen", 14, 30)),
    )
    assert where(solved(problem)) == [("pen", 0, 7), ("brooder", 7, 14), ("pen", 14, 30)]


def test_rest_after_the_last_leaving_may_reach_past_the_plan():
    assert where(solved(farm(batch(), housings=(brooder(), pen(rest_days=365)))))[-1] == ("pen", 28, 70)


def test_a_stage_too_short_for_a_welcome_weekday_still_has_its_move():
    # Days 29 to 33 hold no Saturday.
    problem = farm(batch(stages=stages(brooder_to=33, pen_from=29)))
    found = solved(problem)
    assert where(found) in ([("brooder", 0, 29), ("pen", 29, 70)], [("brooder", 0, 33), ("pen", 33, 70)])
    assert bill(problem, found)["off_days"] == 1


def test_the_end_of_a_season_moves_the_birds_out_on_that_day():
    closing = pen("early", in_service_to=day(50))
    found = solved(farm(batch(), housings=(brooder(), closing, pen("late", in_service_from=day(45)))))
    assert where(found) == [("brooder", 0, 28), ("early", 28, 49), ("late", 49, 70)]


def test_a_smaller_capacity_from_a_day_on_is_reason_to_move_that_day():
    shrinking = pen("a", changes=(Capacity(day(47), 100),))
    problem = farm(batch(), housings=(brooder(), shrinking, pen("b", in_service_from=day(47))))
    assert where(solved(problem)) == [("brooder", 0, 28), ("a", 28, 47), ("b", 47, 70)]


def test_age_gaps_follow_the_arrival_that_is_chosen():
    asked = Arrival(day(14), day(0), day(15), frozenset({5}))
    late = batch("late", arrival=asked)
    problem = farm(batch(), late, housings=(brooder(area_dm2=400, max_age_gap_days=7), pen(area_dm2=900)))
    found = solved(problem, iterations=200)
    assert found.by_batch["late"].arrival == day(7)
    assert bill(problem, found)["arrival"] == 7


def test_a_pin_keeps_its_place_from_a_larger_batch_that_is_placed_first():
    large = batch("large", birds=10)
    small = batch("small", birds=1)
    housings = (brooder(one_batch=True), pen(area_dm2=900))
    problem = farm(large, small, housings=housings, pins=(pin("brooder", 0, 28, "small"),))
    found = solved(problem)
    assert where(found, "small")[0][:2] == ("brooder", 0)
    assert where(found, "large")[0][0] is None


def test_a_pin_keeps_its_place_while_its_batch_is_planned_for_a_day_that_misses_it():
    asked = Arrival(day(56), day(0), day(57), frozenset({5}))
    held = batch("held", arrival=asked, leave_age_days=35)
    early = plan(stay("brooder", 0, 28), stay("pen", 28, 35), batch="held")
    housings = (brooder(area_dm2=400), pen(one_batch=True))
    problem = farm(
        held,
        batch("other", arrives=56),
        housings=housings,
        adopted=(early,),
        pins=(pin("pen", 84, 91, "held"),),
    )
    found = solved(problem)
    assert where(found, "held") == [("brooder", 56, 84), ("pen", 84, 91)]
    assert where(found, "other")[-1] == ("pen", 91, 126)


def test_a_pin_no_housing_suits_is_kept_and_priced():
    problem = farm(batch(), pins=(pin("pen", 0, 7),))
    found = solved(problem)
    assert where(found)[0] == ("pen", 0, 7)
    assert bill(problem, found)["cold"] == 10 * 7
    assert bill(problem, found)["misplaced"] == 7


def test_pins_that_contradict_are_reported_and_the_earlier_one_holds():
    problem = farm(
        batch(), housings=(brooder("a"), brooder("b"), pen()), pins=(pin("a", 0, 14), pin("b", 7, 21))
    )
    found = solved(problem)
    assert where(found)[:2] == [("a", 0, 14), ("b", 14, 28)]
    (fault,) = (one for one in plan_check.faults(problem, found) if one.kind == "pin")
    assert (fault.housing, fault.start, fault.end, fault.forced) == ("b", day(7), day(14), True)
    assert bill(problem, found)["pins"] == 7


def test_two_batches_pinned_into_a_housing_for_one_are_both_kept_and_reported():
    pins = (pin("brooder", 0, 21, "one"), pin("brooder", 0, 21, "two"))
    housings = (brooder(one_batch=True, area_dm2=300), pen(area_dm2=900))
    problem = farm(batch("one"), batch("two"), housings=housings, pins=pins)
    found = solved(problem)
    assert [where(found, key)[0][0] for key in ("one", "two")] == ["brooder", "brooder"]
    assert "pins" not in bill(problem, found)
    assert {fault.kind for fault in plan_check.faults(problem, found)} == {"one_batch"}


def test_a_pin_after_the_birds_have_left_is_reported():
    problem = farm(batch(), pins=(pin("pen", 65, 80),))
    found = solved(problem)
    assert bill(problem, found)["pins"] == 10
    assert [fault.kind for fault in plan_check.faults(problem, found)] == ["pin"]


def test_nowhere_is_an_answer_when_nothing_suits():
    problem = farm(batch(), housings=(pen(),))
    found = solved(problem)
    assert where(found) == [(None, 0, 28), ("pen", 28, 70)]
    assert bill(problem, found)["nowhere"] == 100 * 28


def test_no_stay_is_shorter_than_the_least():
    housings = (brooder(), pen("cosy", in_service_to=day(33)), pen("late", in_service_from=day(30)))
    free = solved(farm(batch(), housings=housings))
    held = solved(farm(batch(min_stay_days=14), housings=housings))
    assert where(free) == [("brooder", 0, 28), ("cosy", 28, 30), ("late", 30, 70)]
    assert where(held) == [("brooder", 0, 30), ("late", 30, 70)]


def test_parts_that_are_here_already_each_go_on_from_where_they_are():
    parts = (PartSize("a", 6), PartSize("b", 4))
    lived = (past("brooder", -7, 0, "a"), past("other", -7, 0, "b"))
    here = batch(arrival=Arrival(day(-7)), parts=parts, history=lived)
    problem = farm(here, housings=(brooder(one_batch=True), brooder("other"), pen(one_batch=True)))
    found = solved(problem)
    assert [home for home, _, _ in where(found, part=0)] == ["brooder", "pen"]
    assert [home for home, _, _ in where(found, part=1)] == ["other", "pen"]
    assert "splits" not in bill(problem, found)


def test_a_batch_too_large_for_one_brooder_is_split_when_it_may_be():
    housings = (brooder(), brooder("other"), pen(area_dm2=400))
    problem = farm(batch(birds=18, max_parts=2), housings=housings)
    found = solved(problem)
    assert sorted(part.birds for part in found.plans[0].parts) == [9, 9]
    assert bill(problem, found) == {"moves": 2, "splits": 1}


def test_a_batch_that_may_not_be_split_is_short_of_room_instead():
    housings = (brooder(), brooder("other"), pen(area_dm2=400))
    problem = farm(batch(birds=18), housings=housings)
    assert bill(problem, solved(problem))["room"] == 80 * 28


def test_a_first_batch_is_planned_the_same_with_an_empty_farm_around_it():
    problem = farm(batch())
    assert where(solve(replace(problem, housings=(*problem.housings, pen("zz"))))) == where(solve(problem))
