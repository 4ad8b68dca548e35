"""Body weight by age and sex."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.growth import FEMALE, MALE, SEXES, STRAIGHT_RUN, weight_g
from farm.trade.load import programmes

MEAT = programmes()["chicken_meat"]
each_programme = pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)


@pytest.mark.parametrize(
    "day, sex, grams", [(0, MALE, 40), (42, MALE, 2700), (42, FEMALE, 2300), (63, FEMALE, 3700)]
)
def test_meat_chickens_have_the_printed_weight_on_their_knots(day, sex, grams):
    assert weight_g(MEAT, day, sex) == pytest.approx(grams)


def test_the_misprint_is_smoothed_over_near_what_its_neighbours_say():
    assert weight_g(MEAT, 35, MALE) == pytest.approx(2050, rel=0.02)


@each_programme
@pytest.mark.parametrize("sex", SEXES)
def test_birds_never_shrink(programme, sex):
    assert (np.diff(weight_g(programme, np.arange(300), sex)) >= 0).all()


@each_programme
def test_straight_run_is_the_mean_of_the_sexes_and_the_default(programme):
    ages = np.arange(0, 200, 5)
    mean = (weight_g(programme, ages, FEMALE) + weight_g(programme, ages, MALE)) / 2
    np.testing.assert_array_equal(weight_g(programme, ages, STRAIGHT_RUN), mean)
    np.testing.assert_array_equal(weight_g(programme, ages), mean)


@each_programme
def test_a_day_old_bird_weighs_its_hatch_weight(programme):
    assert weight_g(programme, 0) == pytest.approx(programme.rules["hatch_g"].value)


@given(st.integers(63, 5000))
def test_after_the_last_knot_the_weight_is_held(day):
    assert weight_g(MEAT, day, MALE) == 4400


def test_an_unknown_sex_is_refused():
    with pytest.raises(ValueError, match="no such sex of a batch: rooster"):
        weight_g(MEAT, 10, "rooster")
