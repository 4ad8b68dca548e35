"""What a plan costs is counted from the plan alone, one term at a time; each test's plan has a single fault."""

from dataclasses import replace

import pytest

from farm.planning import score
from farm.planning.problem import Arrival
from farm.planning.solution import BatchPlan
from farm.planning.weights import Weights
from tests.planning.plan_world import batch, brooder, day, demand, farm, past, pen, pin, plan, stay, terms

GOOD = plan(stay("brooder", 0, 28), stay("pen", 28, 70))
WIDE = (brooder(area_dm2=400), pen(area_dm2=900))


def test_a_plan_with_room_costs_its_moves():
    assert terms(farm(batch(), housings=WIDE), GOOD) == {"moves": 1}


def test_floor_missing_is_counted_by_day():
    problem = farm(batch(), housings=(brooder(area_dm2=90), pen(area_dm2=900)))
    assert terms(problem, GOOD) == {"room": 10 * 28, "moves": 1, "spare": 28}


def test_floor_exactly_filled_is_not_missing():
    assert "room" not in terms(farm(batch(), housings=(brooder(area_dm2=100), pen())), GOOD)


def test_birds_nowhere_are_counted_by_the_floor_they_ask_for():
    nowhere = plan(stay(None, 0, 28), stay("pen", 28, 70))
    assert terms(farm(batch(), housings=WIDE), nowhere) == {"nowhere": 100 * 28, "moves": 1}


def test_edges_count_where_they_are_recorded():
    fed = batch(demand=demand(feeder=25_000, drinker=12_000))
    housings = (brooder(area_dm2=400, feeder_mm=200, drinker_mm=100), pen(area_dm2=900))
    assert terms(farm(fed, housings=housings), GOOD) == {"feeder": 50 * 28, "drinker": 20 * 28, "moves": 1}


def test_birds_in_the_cold_and_misplaced_are_counted():
    early = plan(stay("brooder", 0, 21), stay("pen", 21, 70))
    assert terms(farm(batch(), housings=WIDE), early) == {"cold": 10 * 7, "misplaced": 7, "moves": 1}


def test_survivors_are_taken_at_the_start_of_each_week_and_rounded_up():
    dying = batch(survivors=(10, 10, 9))
    problem = farm(dying, housings=(brooder(area_dm2=90), pen(area_dm2=900)))
    assert terms(problem, GOOD)["room"] == 10 * 14


def test_days_shared_count_the_batches_beyond_the_first():
    both = [plan(stay("brooder", 0, 28), stay("pen", 28, 70), batch=key) for key in ("one", "two")]
    assert terms(farm(batch("one"), batch("two"), housings=WIDE), *both) == {"moves": 2, "mixing": 70}


def test_parts_of_one_batch_together_are_not_mixing():
    parts = tuple(replace(GOOD.parts[0], key=key, birds=5) for key in "12")
    problem = farm(batch(max_parts=2), housings=WIDE)
    assert terms(problem, BatchPlan("reds", day(0), parts)) == {"moves": 2, "splits": 1}


def test_a_pin_not_kept_is_counted_by_day():
    assert terms(farm(batch(), housings=WIDE, pins=(pin("pen", 26, 31),)), GOOD) == {"pins": 2, "moves": 1}


def test_the_shift_of_an_arrival_and_moves_on_other_weekdays_are_counted():
    later = plan(stay("brooder", 2, 30), stay("pen", 30, 72), arrives=2)
    problem = farm(batch(arrival=Arrival(day(0), day(0), day(7))), housings=WIDE)
    assert terms(problem, later) == {"moves": 1, "arrival": 2, "off_days": 1}


def test_any_weekday_will_do_when_none_is_preferred():
    later = plan(stay("brooder", 0, 30), stay("pen", 30, 70))
    assert terms(farm(batch(), housings=WIDE, move_weekdays=frozenset()), later) == {"moves": 1}


def test_days_elsewhere_than_adopted_are_counted():
    adopted = plan(stay("brooder", 0, 30), stay("pen", 30, 70))
    assert terms(farm(batch(), housings=WIDE, adopted=(adopted,)), GOOD) == {"moves": 1, "change": 2}


def test_leaving_todays_housing_is_a_move_and_staying_is_not():
    here = farm(
        batch(arrival=Arrival(day(-35)), history=(past("pen", -35, 0),)), housings=(pen(), pen("other"))
    )
    assert terms(here, plan(stay("pen", 0, 35), arrives=-35)) == {"spare": 35}
    assert terms(here, plan(stay("other", 0, 35), arrives=-35)) == {"moves": 1, "spare": 35}


def test_the_total_is_every_count_at_its_price():
    problem = farm(batch(), housings=(brooder(area_dm2=90), pen(area_dm2=900)))
    bill = score.bill(problem, [GOOD])
    assert (bill.total, bill.shortfall) == (280 * 100 + 1000 + 28, 28_000)


def test_the_birds_short_are_those_of_the_worst_day():
    problem = farm(batch(), housings=(brooder(area_dm2=75), pen(area_dm2=900)))
    assert score.bill(problem, [GOOD]).birds_short == 3


def test_a_bill_reads_like_one():
    problem = farm(batch(), housings=(brooder(area_dm2=90), pen(area_dm2=900)))
    assert [str(line) for line in score.bill(problem, [GOOD]).lines()] == [
        "2.80 m² of floor short, summed over the days",
        "1 move",
        "28 days with a housing nearly full",
    ]


def test_the_smaller_bill_is_the_cheaper_plan():
    problem = farm(batch(), housings=WIDE)
    nowhere = plan(stay(None, 0, 28), stay("pen", 28, 70))
    assert score.bill(problem, [GOOD]) < score.bill(problem, [nowhere])


def test_every_weight_has_a_term_that_says_what_it_counts():
    assert set(score.TERMS) == set(Weights.__slots__)
    assert all(term.__doc__.startswith("Count ") for term in score.TERMS.values())


def test_a_plan_that_names_an_unknown_housing_is_an_error():
    with pytest.raises(KeyError, match="barn"):
        score.bill(farm(batch()), [plan(stay("barn", 0, 70))])
