"""Feed and water of whole batches by day: the cold, kinds, several batches together."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry import rations, water
from farm.husbandry.feeding.usage import (
    Eater,
    Feed,
    by_feed,
    cold_share,
    drunk_l,
    eaten_kg,
    of_batches,
    together,
)
from farm.husbandry.growth import FEMALE, STRAIGHT_RUN
from farm.trade.load import programmes

BROWN, GOOSE = programmes()["chicken_layer_brown"], programmes()["goose"]
HATCHED = date(2026, 4, 1)
KEYS = st.sampled_from(sorted(programmes()))


def flock(programme=BROWN, heads=50, days=60, batch=1, air_c=None, hatched=HATCHED):
    return Eater(batch, programme, FEMALE, hatched, np.full(days, heads), air_c)


@given(KEYS, st.integers(1, 400), st.integers(0, 200))
def test_a_batch_eats_what_each_of_its_birds_eats_at_that_age(key, heads, age):
    programme = programmes()[key]
    eaten = eaten_kg(flock(programme, heads, 10), HATCHED + timedelta(days=age))
    each = rations.feed_g(programme, np.arange(age, age + 10), FEMALE) / 1000
    np.testing.assert_allclose(eaten, heads * each)


def test_birds_that_are_not_hatched_eat_and_drink_nothing():
    eaters = flock(days=5)
    assert eaten_kg(eaters, HATCHED - timedelta(days=3)).tolist()[:3] == [0, 0, 0]
    assert drunk_l(eaters, HATCHED - timedelta(days=3))[1].tolist()[:3] == [0, 0, 0]
    assert eaten_kg(eaters, HATCHED - timedelta(days=3))[3] > 0


def test_a_dead_or_sold_bird_eats_no_more():
    eaters = replace(flock(days=4), heads=np.array([50, 50, 25, 0]))
    whole, fewer = eaten_kg(flock(days=4), HATCHED), eaten_kg(eaters, HATCHED)
    np.testing.assert_allclose(fewer / whole, [1, 1, 0.5, 0])


@pytest.mark.parametrize("air, more", [(25, 0), (20, 0), (10, 0.15), (0, 0.3), (-40, 0.5), (np.nan, 0)])
def test_each_degree_below_twenty_adds_one_and_a_half_per_cent(air, more):
    assert cold_share(air) == pytest.approx(more)


@given(st.lists(st.floats(-60, 60), min_size=2, max_size=2))
def test_colder_air_never_takes_feed_away(pair):
    warm, cold = max(pair), min(pair)
    assert cold_share(cold) >= cold_share(warm) >= 0


def test_chicks_under_heat_do_not_eat_for_the_cold_outside_and_birds_off_heat_do():
    off = int(BROWN.rules["heat_off_latest_day"].value)
    cold = flock(days=2, air_c=np.array([0.0, 0.0]))
    assert (eaten_kg(cold, HATCHED) == eaten_kg(flock(days=2), HATCHED)).all()
    later = HATCHED + timedelta(days=off)
    np.testing.assert_allclose(eaten_kg(cold, later), 1.3 * eaten_kg(flock(days=2), later))


@given(KEYS, st.integers(0, 150))
def test_kinds_of_feed_add_up_to_all_that_is_eaten(key, age):
    eaters = flock(programmes()[key], 30, 80)
    first = HATCHED + timedelta(days=age)
    np.testing.assert_allclose(sum(by_feed(eaters, first).values()), eaten_kg(eaters, first))


def test_a_new_feed_is_mixed_into_the_old_over_a_week():
    eaters, first = flock(days=10), HATCHED + timedelta(days=41)
    found = {feed.name: kg for feed, kg in by_feed(eaters, first).items()}
    share = found["grower"] / (found["grower"] + found["starter"])
    np.testing.assert_allclose(share, [0, 0.25, 0.25, 0.5, 0.5, 0.5, 0.75, 0.75, 1, 1])


def test_no_feed_is_named_that_nobody_eats():
    assert [feed.name for feed in by_feed(flock(days=30), HATCHED)] == ["starter"]
    assert by_feed(flock(heads=0), HATCHED) == {}


def test_chick_and_gosling_starter_are_two_feeds_though_the_bags_say_the_same():
    found = together([flock(), flock(GOOSE)], HATCHED, lambda feed: feed)
    assert {(feed.species, feed.name) for feed in found} >= {("chicken", "starter"), ("goose", "starter")}
    assert Feed("chicken", "starter", 200.0) != Feed("goose", "starter", 200.0)


def test_a_farm_may_call_two_kinds_by_one_name_and_then_they_share_their_bags():
    eaters = [flock(), flock(GOOSE, batch=2)]
    whole = together(eaters, HATCHED, lambda feed: "the blue bag")["the blue bag"]
    np.testing.assert_allclose(whole, sum(of_batches(eaters, HATCHED).values()))


def test_two_parts_of_one_batch_are_one_batch_on_the_bill():
    kg = of_batches([flock(heads=20), flock(heads=30)], HATCHED)
    np.testing.assert_allclose(kg[1], eaten_kg(flock(heads=50), HATCHED))
    assert list(kg) == [1]


def test_birds_drink_their_usual_water_and_in_heat_a_third_to_a_half_more():
    eaters = replace(flock(days=3), air_c=np.array([20.0, 33.0, np.nan]))
    least, most = drunk_l(eaters, HATCHED + timedelta(days=90))
    usual = 50 * water.water_l(BROWN, [90, 91, 92], FEMALE)
    np.testing.assert_allclose(least / usual, [1, 1.3, 1])
    np.testing.assert_allclose(most / usual, [1, 1.5, 1])
    assert (drunk_l(flock(), HATCHED)[0] == drunk_l(flock(), HATCHED)[1]).all()


def test_wrong_eaters_are_refused():
    with pytest.raises(ValueError, match="one value for each day"):
        flock(days=3, air_c=np.array([1.0]))
    with pytest.raises(ValueError, match="below 0"):
        flock(heads=-1)
    with pytest.raises(ValueError, match="no such sex of a batch: hen"):
        Eater(1, BROWN, "hen", HATCHED, np.array([1]))


def test_straight_run_eats_between_pullets_and_cockerels():
    mixed = Eater(1, BROWN, STRAIGHT_RUN, HATCHED, np.full(60, 10))
    assert eaten_kg(mixed, HATCHED).sum() > eaten_kg(flock(heads=10), HATCHED).sum()
