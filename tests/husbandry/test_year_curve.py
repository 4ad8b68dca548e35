"""From twelve months to days: means kept exactly, no step at new year, nothing negative, leap years whole."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry import year_curve

LENGTHS = (year_curve.COMMON, year_curve.LEAP)
each_length = pytest.mark.parametrize("length", LENGTHS)
months = st.lists(st.floats(-40, 45), min_size=12, max_size=12)


@given(means=months, length=st.sampled_from(LENGTHS))
def test_the_days_of_a_month_have_the_months_mean(means, length):
    curve = year_curve.smooth(means, length)
    first = 0
    for month, mean in enumerate(means, 1):
        days = (date(2023 + (length == 366), month, 28) + timedelta(days=4)).replace(day=1)
        last = (days - date(days.year if month < 12 else days.year - 1, 1, 1)).days
        assert curve[first:last].mean() == pytest.approx(mean, abs=1e-9)
        first = last
    assert first == length


@given(value=st.floats(-40, 45), length=st.sampled_from(LENGTHS))
def test_the_same_mean_every_month_is_the_same_every_day(value, length):
    assert year_curve.smooth([value] * 12, length) == pytest.approx(np.full(length, value), abs=1e-9)


@each_length
def test_a_true_wave_is_found_again_from_its_monthly_means(length):
    turn = 2 * np.pi * (np.arange(length) + 0.5) / length
    true = 11 - 9 * np.cos(turn - 0.4) + 1.5 * np.sin(2 * turn) + 0.7 * np.cos(5 * turn)
    assert year_curve.smooth(year_curve.monthly_means(true), length) == pytest.approx(true, abs=1e-9)


@given(means=st.lists(st.floats(0, 15), min_size=12, max_size=12), length=st.sampled_from(LENGTHS))
def test_new_year_is_no_larger_step_than_any_other_day(means, length):
    for curve in (year_curve.smooth(means, length), year_curve.between(means, length)):
        steps = np.abs(np.diff(curve))
        # the curve between two days is no rougher over new year than where it is roughest
        assert abs(curve[0] - curve[-1]) <= steps.max() * 1.2 + 1e-9


@given(values=st.lists(st.floats(0, 15), min_size=12, max_size=12), length=st.sampled_from(LENGTHS))
def test_lines_between_months_stay_between_their_neighbours(values, length):
    curve = year_curve.between(values, length)
    month = year_curve.month_of(length)
    for day in range(length):
        near = [values[(month[day] + step) % 12] for step in (-1, 0, 1)]
        assert min(near) - 1e-12 <= curve[day] <= max(near) + 1e-12


@given(rows=st.lists(st.lists(st.floats(-3, 3), min_size=4, max_size=4), min_size=12, max_size=12))
def test_rows_that_rise_still_rise_between_months(rows):
    assert (np.diff(year_curve.between(np.sort(rows, axis=1), 365), axis=1) >= -1e-12).all()


def test_the_middle_of_a_month_has_the_months_own_value():
    values = np.arange(12.0)
    curve = year_curve.between(values, 365)
    assert curve[15] == 0.0  # 16 January, whose noon is the middle of the month
    assert curve[date(2023, 7, 16).timetuple().tm_yday - 1] == 6.0


def test_a_year_of_another_length_is_refused():
    with pytest.raises(ValueError, match="365 or 366"):
        year_curve.month_of(360)


@given(day=st.dates(date(1900, 1, 1), date(2199, 12, 31)))
def test_every_date_has_its_own_row(day):
    common, leap = np.arange(365.0), 1000 + np.arange(366.0)
    number = day.timetuple().tm_yday - 1
    is_leap = (day.replace(month=12, day=31) - day.replace(month=1, day=1)).days == 365
    assert year_curve.pick(common, leap, [day]).tolist() == [1000 + number if is_leap else number]
