"""Water by age: the printed curve where there is one, twice the feed where there is none."""

import numpy as np
import pytest

from farm.husbandry import rations, water
from farm.husbandry.growth import FEMALE, MALE
from farm.trade.load import programmes

BROWN, MEAT = programmes()["chicken_layer_brown"], programmes()["chicken_meat"]


@pytest.mark.parametrize("day, litres", [(28, 10), (84, 16), (126, 20), (182, 27), (500, 27)])
def test_pullets_and_hens_drink_the_printed_litres_per_hundred(day, litres):
    assert 100 * water.water_l(BROWN, day, FEMALE) == pytest.approx(litres)


def test_a_meat_chickens_week_averages_the_printed_litres():
    for week, litres in enumerate([12, 18, 24.5, 29, 33, 35.5], start=1):
        mean = 100 * water.water_l(MEAT, np.arange(7 * week, 7 * week + 7)).mean()
        assert mean == pytest.approx(litres, rel=0.02), week + 1


def test_before_the_first_knot_a_chick_drinks_twice_its_feed():
    assert water.water_l(BROWN, 10) == pytest.approx(2 * rations.feed_g(BROWN, 10) / 1000)


def test_before_the_first_knot_a_chick_never_drinks_more_than_that_knot():
    assert (100 * water.water_l(BROWN, np.arange(28), MALE)).max() <= 10


@pytest.mark.parametrize("key", ["turkey_large", "duck", "goose", "quail_layer", "guinea", "pheasant"])
def test_birds_without_a_printed_curve_drink_twice_their_feed(key):
    ages = np.arange(0, 200, 3)
    expected = 2 * rations.feed_g(programmes()[key], ages) / 1000
    np.testing.assert_allclose(water.water_l(programmes()[key], ages), expected)


@pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)
def test_every_bird_drinks_every_day_within_the_accepted_range(programme):
    litres = 100 * water.water_l(programme, np.arange(300))
    assert litres.min() > 0
    assert litres.max() <= 250


@pytest.mark.parametrize("air_c, factors", [(20, (1, 1)), (32, (1, 1)), (32.1, (1.3, 1.5)), (40, (1.3, 1.5))])
def test_above_32_degrees_birds_drink_a_third_to_half_more(air_c, factors):
    assert water.hot_factor(air_c) == pytest.approx(factors)
