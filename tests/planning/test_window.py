"""The window: half-open days, columns and slices."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.planning.window import Window

MAY = Window(date(2031, 5, 1), 31)


def test_the_end_is_the_first_day_after_the_window():
    assert MAY.end == date(2031, 6, 1)


def test_a_window_without_days_is_refused():
    with pytest.raises(ValueError, match="at least one day, not 0"):
        Window(date(2031, 5, 1), 0)


def test_dates_are_every_day_once_in_order():
    assert MAY.dates()[0] == date(2031, 5, 1)
    assert MAY.dates()[-1] == date(2031, 5, 31)
    assert len(MAY.dates()) == 31


def test_index_counts_on_outside_the_window():
    assert [MAY.index(day) for day in (date(2031, 4, 30), date(2031, 5, 1), date(2031, 6, 1))] == [-1, 0, 31]


def test_a_stay_ending_on_the_first_day_has_no_column():
    assert MAY.clip(date(2031, 4, 1), date(2031, 5, 1)) is None


def test_a_stay_ending_on_the_second_day_has_the_first_column():
    assert MAY.clip(date(2031, 4, 1), date(2031, 5, 2)) == slice(0, 1)


def test_a_stay_starting_on_the_last_day_has_the_last_column():
    assert MAY.clip(date(2031, 5, 31), None) == slice(30, 31)


def test_a_stay_starting_on_the_end_has_no_column():
    assert MAY.clip(date(2031, 6, 1), None) is None


def test_open_sides_give_the_whole_window():
    assert MAY.clip(None, None) == slice(0, 31)


def test_a_stay_of_no_days_has_no_column():
    assert MAY.clip(date(2031, 5, 10), date(2031, 5, 10)) is None


@given(st.dates(date(2000, 1, 1), date(2060, 1, 1)), st.integers(1, 800), st.integers(-900, 900))
def test_day_and_index_undo_each_other(start, days, column):
    window = Window(start, days)
    assert window.index(window.day(column)) == column


@given(st.integers(-40, 40), st.integers(-5, 60))
def test_clip_holds_exactly_the_days_of_the_stay_that_are_in_the_window(begin, length):
    start = MAY.start + timedelta(days=begin)
    end = start + timedelta(days=length)
    columns = MAY.clip(start, end)
    expected = [day for day in MAY.dates() if start <= day < end]
    assert (list(MAY.dates()[columns]) if columns else []) == expected
