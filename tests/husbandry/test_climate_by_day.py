"""A climate by day: means and spreads, chances and quantiles that undo each other, and numbers that cannot be."""

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from farm.husbandry.climate import Climate, ClimateError, MonthlyClimate
from farm.husbandry.day_law import LEVELS, NORMAL, DayLaw, normal_above

LOWS = (0.9, 2.1, 5.4, 9.3, 14.4, 18.7, 20.6, 20.2, 16.9, 10.5, 5.1, 2.2)
HIGHS = (11.8, 14.0, 18.2, 22.9, 26.9, 30.8, 32.6, 31.9, 28.8, 23.3, 17.6, 13.0)
PLAIN = MonthlyClimate(LOWS, (5.0,) * 12, HIGHS, (6.0,) * 12)
YEAR = [date(2023, 1, 1) + timedelta(days=i) for i in range(365)]
#: Nights that reach further down than up.
SKEWED = (tuple(score - 0.15 * (score**2 - 1) if score < 2 else score for score in NORMAL[0]),) * 12

twelve = st.lists(st.floats(-20, 25), min_size=12, max_size=12)
spreads = st.lists(st.floats(0, 15), min_size=12, max_size=12)
any_day = st.dates(date(1990, 1, 1), date(2060, 12, 31))
shapes = st.sampled_from((NORMAL, SKEWED))


@st.composite
def laws(draw, least=0.0):
    sds = draw(st.lists(st.floats(least, 15), min_size=12, max_size=12))
    return DayLaw(tuple(draw(twelve)), tuple(sds), draw(shapes))


@given(law=laws())
def test_a_spread_is_never_negative_nor_more_than_was_given(law):
    _, sds = law.mean_and_sd(YEAR)
    assert (sds >= 0).all()
    assert (sds <= max(law.sd_c) + 1e-9).all()


@given(law=laws(), day=any_day, temp_c=st.floats(-60, 60))
def test_a_chance_is_one_and_falls_with_the_temperature_asked(law, day, temp_c):
    chance, warmer = law.chance_at_least(day, temp_c), law.chance_at_least(day, temp_c + 1)
    assert 0 <= warmer <= chance <= 1


@given(law=laws(least=0.5), day=any_day, q=st.floats(0.001, 0.999))
def test_the_quantile_undoes_the_chance(law, day, q):
    assert 1 - law.chance_at_least(day, law.quantile(day, q)) == pytest.approx(q, abs=1e-9)


@given(law=laws(), day=any_day, low=st.floats(0.001, 0.5), more=st.floats(0, 0.499))
def test_quantiles_rise(law, day, low, more):
    assert law.quantile(day, low) <= law.quantile(day, low + more) + 1e-12


@given(temp_c=st.floats(-30, 40), day=any_day)
def test_the_default_law_is_the_normal_one(temp_c, day):
    """scipy's normal distribution is the judge."""
    climate = Climate(PLAIN)
    mean, sd = climate.low(day)
    assert climate.chance_low_at_least(day, temp_c) == pytest.approx(norm.sf(temp_c, mean, sd), abs=1e-12)
    mean, sd = climate.high(day)
    assert climate.chance_high_at_least(day, temp_c) == pytest.approx(norm.sf(temp_c, mean, sd), abs=1e-12)
    assert climate.high_quantile(day, 0.9) == pytest.approx(norm.ppf(0.9, mean, sd), abs=1e-9)


@given(score=st.floats(-40, 40))
def test_the_normal_tail_is_right_far_out(score):
    assert normal_above(np.array([score]))[0] == pytest.approx(norm.sf(score), rel=1e-9, abs=1e-300)


def test_many_days_and_one_day_say_the_same():
    climate = Climate(PLAIN, SKEWED)
    together = climate.chance_low_at_least(YEAR, 10)
    assert together.shape == (365,)
    assert together[200] == climate.chance_low_at_least(YEAR[200], 10)
    assert climate.low_quantile(YEAR, 0.1)[40] == climate.low_quantile(YEAR[40], 0.1)
    assert climate.low([])[0].shape == (0,)


def test_a_temperature_for_each_day_is_taken_day_by_day():
    climate = Climate(PLAIN)
    asked = np.linspace(-5, 15, 365)
    each = [float(climate.chance_low_at_least(day, temp)) for day, temp in zip(YEAR, asked, strict=True)]
    assert climate.chance_low_at_least(YEAR, asked) == pytest.approx(each)


def test_without_a_spread_days_are_certain():
    still = Climate(replace(PLAIN, low_mean_c=(8.0,) * 12, low_sd_c=(0.0,) * 12))
    assert still.chance_low_at_least(YEAR[:3], [7.9, 7.0, 8.1]).tolist() == [1, 1, 0]
    assert still.low_quantile(YEAR[0], 0.05) == pytest.approx(8.0)


def test_the_season_within_a_month_is_taken_off_its_spread():
    """The days of April about their own means, and these means about April's, make up April's spread again."""
    climate = Climate(replace(PLAIN, low_sd_c=(4.0,) * 12))
    april = [day for day in YEAR if day.month == 4]
    means, sds = climate.low(april)
    assert sds.max() < 4
    assert math.hypot(means.std(), sds.mean()) == pytest.approx(4, abs=0.1)


def test_a_spread_smaller_than_the_season_is_not_taken_off_whole():
    sds = Climate(replace(PLAIN, low_sd_c=(1.0,) * 12)).low(YEAR)[1]
    assert sds.min() >= 0.5


def test_a_skewed_shape_moves_the_tails():
    plain, skewed = Climate(PLAIN), Climate(PLAIN, SKEWED)
    day = YEAR[15]
    assert skewed.low_quantile(day, 0.02) < plain.low_quantile(day, 0.02)
    assert skewed.high_quantile(day, 0.02) == plain.high_quantile(day, 0.02)


@pytest.mark.parametrize(
    "shape",
    [NORMAL[:11], (NORMAL[0][:-1],) * 12, (tuple(reversed(LEVELS)),) * 12, ((math.nan,) * len(LEVELS),) * 12],
)
def test_a_shape_that_does_not_rise_is_refused(shape):
    with pytest.raises(ValueError, match="rising"):
        DayLaw(LOWS, (5.0,) * 12, shape)


@pytest.mark.parametrize("q", [0, 1, -0.1, 1.1, math.nan])
def test_a_quantile_of_nothing_is_refused(q):
    with pytest.raises(ValueError, match="between 0 and 1"):
        Climate(PLAIN).low_quantile(YEAR[0], q)


@pytest.mark.parametrize(
    "field, value",
    [
        ("low_mean_c", -40.1),
        ("high_mean_c", 45.1),
        ("low_sd_c", -0.1),
        ("high_sd_c", 15.1),
        ("low_sd_c", math.nan),
        ("high_mean_c", math.inf),
    ],
)
def test_a_number_that_cannot_be_is_named_by_month_and_field(field, value):
    values = list(getattr(PLAIN, field))
    values[4] = value
    with pytest.raises(ClimateError) as refused:
        replace(PLAIN, **{field: tuple(values)})
    assert [(problem.field, problem.month) for problem in refused.value.problems] == [(field, 5)]


def test_a_mean_high_below_the_mean_low_is_refused():
    with pytest.raises(ClimateError) as refused:
        replace(PLAIN, high_mean_c=(0.5, *HIGHS[1:]))
    assert [(problem.month, problem.low) for problem in refused.value.problems] == [(1, 0.9)]


def test_every_wrong_number_is_named_at_once():
    with pytest.raises(ClimateError) as refused:
        MonthlyClimate((99.0,) * 12, (-1.0,) * 12, (100.0,) * 12, (5.0,) * 12)
    assert len(refused.value.problems) == 36


def test_eleven_months_are_no_year():
    with pytest.raises(ValueError, match="12 values"):
        MonthlyClimate(LOWS[:11], (5.0,) * 12, HIGHS, (6.0,) * 12)
