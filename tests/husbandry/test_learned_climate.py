"""What a daily record teaches: plain means, wider spreads for few years, gaps left alone, a shape from five years."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.husbandry.day_law import NORMAL
from farm.husbandry.learned_climate import learned
from farm.husbandry.weather_record import DayRecord


def record(years, seed=1, year_sd=0.0, day_sd=4.0, skew=False, first=2001):
    """Return invented days: a wave through the year, single years off it by year_sd, single days by day_sd."""
    draw = np.random.default_rng(seed)
    found = []
    for year in range(first, first + years):
        off = draw.normal(0, year_sd) if year_sd else 0.0
        for i in range(365):
            day = date(year, 1, 1) + timedelta(days=i)
            noise = (1 - draw.gamma(1)) if skew else draw.normal()
            low = 8 - 10 * np.cos(2 * np.pi * (i - 20) / 365) + off + day_sd * noise
            found.append(DayRecord(day, float(low), float(low + 10)))
    return found


def lows_of(days, month):
    return np.array([day.low_c for day in days if day.day.month == month])


def test_means_are_the_plain_ones():
    days = record(3)
    found = learned(days)
    for month in range(1, 13):
        assert found.climate.monthly.low_mean_c[month - 1] == pytest.approx(lows_of(days, month).mean())
    assert (found.years, found.thin_months, found.missing_lows, found.missing_highs) == (3, (), 0, 0)


def test_few_years_widen_the_spread_and_many_hardly():
    def widening(years):
        days = record(years, year_sd=2.0)
        return learned(days).climate.monthly.low_sd_c[0] / lows_of(days, 1).std()

    assert widening(1) == pytest.approx(1.4**0.5)  # one year says nothing of years: the project's share holds
    assert widening(2) > widening(30)
    assert 1 < widening(30) < 1.02


@pytest.mark.parametrize("years", [2, 3, 6])
def test_promises_from_few_years_hold_in_other_years(years):
    """Over 150 invented places with normal days and normal years, of what is promised at 90 % about 90 % holds."""
    held = []
    for seed in range(150):
        days = record(years + 1, seed, year_sd=2.0, day_sd=3.0)
        climate = learned(days[: 365 * years]).climate
        later = days[365 * years :: 7]
        promised = climate.low_quantile([day.day for day in later], 0.1)
        held.append(np.mean([day.low_c >= at for day, at in zip(later, promised, strict=True)]))
    # 150 places whose years stray on their own: three standard errors are about 0.03
    assert np.mean(held) == pytest.approx(0.9, abs=3 * np.std(held) / 150**0.5 + 0.005)


def test_the_shape_is_learned_from_five_years_on():
    four, five = learned(record(4, skew=True)), learned(record(5, skew=True))
    assert not four.shaped
    assert four.climate.low_shape == NORMAL
    assert five.shaped
    # the law used reaches far down and hardly up: the lowest 2 % of 1 - Gamma(1) are at -2.9, the highest at 0.98
    low, high = np.mean(five.climate.low_shape, axis=0)[[0, -1]]
    assert low == pytest.approx(-2.9, abs=0.35)
    assert high == pytest.approx(0.98, abs=0.15)


def test_five_years_with_hardly_a_day_each_give_no_shape():
    few = [day for day in record(5, skew=True) if day.day.month != 3 or day.day.day <= 19]
    assert learned(few).climate is not None
    assert not learned(few).shaped


def test_gaps_stay_gaps_and_are_counted():
    days = record(2)
    days[10] = DayRecord(days[10].day, None, days[10].high_c)
    days[400] = DayRecord(days[400].day, None, None)
    del days[100:103]
    found = learned(days)
    assert (found.missing_lows, found.missing_highs) == (5, 4)
    january = [day.low_c for day in days if day.day.month == 1 and day.low_c is not None]
    assert found.climate.monthly.low_mean_c[0] == pytest.approx(np.mean(january))


def test_a_month_with_too_few_days_is_named_and_nothing_is_learned():
    days = [day for day in record(1) if day.day.month != 2 or day.day.day <= 19]
    found = learned(days)
    assert found.climate is None
    assert found.thin_months == (2,)
    assert learned([*days, DayRecord(date(2002, 2, 1), 1.0, 9.0)]).climate is not None


def test_a_month_without_highs_is_thin_too():
    days = [DayRecord(day.day, day.low_c, None if day.day.month == 7 else day.high_c) for day in record(1)]
    assert learned(days).thin_months == (7,)


def test_an_empty_record_teaches_nothing():
    found = learned([])
    assert found.climate is None
    assert found.thin_months == tuple(range(1, 13))
    assert (found.years, found.missing_lows, found.missing_highs, found.shaped) == (0, 0, 0, False)


def test_a_record_without_any_spread_is_certain():
    days = [DayRecord(day.day, 5.0, 15.0) for day in record(6)]
    climate = learned(days).climate
    assert climate.chance_low_at_least(days[0].day, 4.9) == 1
    assert climate.chance_low_at_least(days[0].day, 5.1) == 0


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000), order=st.randoms(use_true_random=False))
def test_the_order_of_days_does_not_matter(seed, order):
    days = record(1, seed)
    mixed = days[:]
    order.shuffle(mixed)
    one, other = learned(days).climate.monthly, learned(mixed).climate.monthly
    assert one.low_mean_c == pytest.approx(other.low_mean_c)
    assert one.high_sd_c == pytest.approx(other.high_sd_c)
