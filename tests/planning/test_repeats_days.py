"""On which days a rule falls: the edges of months, weeks and windows, and rules begun long ago."""

from datetime import date, timedelta
from time import perf_counter

import pytest

from farm.planning.repeats import Repeat, RepeatError, days, first_day, last_day, next_day
from farm.planning.window import Window

MONDAY = date(2026, 6, 1)


def on(rule, start, begin, length, **fields):
    return [each.isoformat() for each in days(rule, start, Window(begin, length), **fields)]


def test_every_day_falls_on_each_day_from_the_start():
    assert on(Repeat("daily"), MONDAY, date(2026, 5, 30), 4) == ["2026-06-01", "2026-06-02"]


def test_every_third_day_counts_from_the_start_in_every_window():
    assert on(Repeat("daily", 3), MONDAY, date(2026, 6, 8), 6) == ["2026-06-10", "2026-06-13"]


def test_a_start_that_does_not_fit_is_not_a_day_of_the_rule():
    thursdays = Repeat("weekly", weekdays=(3,))
    assert on(thursdays, MONDAY, MONDAY, 14) == ["2026-06-04", "2026-06-11"]


def test_a_start_that_does_not_fit_is_not_counted_either():
    assert on(Repeat("weekly", weekdays=(3,), count=2), MONDAY, MONDAY, 60) == ["2026-06-04", "2026-06-11"]


def test_a_weekly_rule_without_weekdays_falls_on_the_weekday_of_its_start():
    assert on(Repeat("weekly"), date(2026, 6, 3), MONDAY, 14) == ["2026-06-03", "2026-06-10"]


def test_every_second_week_begins_on_monday_so_a_sunday_start_has_one_day_of_its_week_left():
    sunday = date(2026, 6, 7)
    both = Repeat("weekly", 2, weekdays=(0, 6))
    assert on(both, sunday, sunday, 22) == ["2026-06-07", "2026-06-15", "2026-06-21"]


def test_days_of_the_first_week_before_the_start_are_not_asked():
    thursday = date(2026, 6, 4)
    assert on(Repeat("weekly", weekdays=(0, 4)), thursday, MONDAY, 9) == ["2026-06-05", "2026-06-08"]


def test_months_without_day_31_are_left_out():
    assert on(Repeat("monthly"), date(2026, 1, 31), date(2026, 1, 1), 160) == [
        "2026-01-31",
        "2026-03-31",
        "2026-05-31",
    ]


def test_the_last_day_of_the_month_is_never_left_out():
    rule = Repeat("monthly", monthday=-1)
    assert on(rule, date(2027, 12, 1), date(2028, 1, 1), 91) == ["2028-01-31", "2028-02-29", "2028-03-31"]


def test_the_last_monday_of_a_month_may_be_its_fourth_or_its_fifth():
    rule = Repeat("monthly", nth=(-1, 0))
    assert on(rule, MONDAY, MONDAY, 100) == ["2026-06-29", "2026-07-27", "2026-08-31"]


def test_the_second_tuesday_of_every_third_month():
    rule = Repeat("monthly", 3, nth=(2, 1))
    assert on(rule, MONDAY, MONDAY, 200) == ["2026-06-09", "2026-09-08", "2026-12-08"]


def test_a_day_of_the_month_before_the_start_begins_a_month_later():
    assert on(Repeat("monthly", monthday=1), date(2026, 6, 2), MONDAY, 61) == ["2026-07-01"]


def test_the_29th_of_february_comes_every_four_years():
    rule = Repeat("monthly", 12, monthday=29)
    assert on(rule, date(2024, 2, 29), date(2024, 1, 1), 365 * 9) == [
        "2024-02-29",
        "2028-02-29",
        "2032-02-29",
    ]


def test_until_is_the_last_day_itself():
    assert on(Repeat("daily", until=date(2026, 6, 2)), MONDAY, MONDAY, 9) == ["2026-06-01", "2026-06-02"]


def test_a_day_left_out_is_counted_and_not_made_up_for():
    rule = Repeat("daily", count=3)
    assert on(rule, MONDAY, MONDAY, 9, exceptions={date(2026, 6, 2)}) == ["2026-06-01", "2026-06-03"]


@pytest.mark.parametrize(
    "rule",
    [
        Repeat("daily", 3),
        Repeat("weekly", 2, weekdays=(0, 3)),
        Repeat("monthly", nth=(-1, 4)),
        Repeat("daily", count=1000),
        Repeat("weekly", count=1000, weekdays=(0, 1, 2, 3, 4)),
        Repeat("monthly", monthday=31, count=1000),
    ],
    ids=str,
)
def test_a_rule_begun_two_thousand_years_ago_is_as_quick_as_one_of_today(rule):
    week = Window(date(2030, 1, 1), 30)
    days(rule, date(30, 1, 1), week)  # a count is worked out once
    before = perf_counter()
    for _ in range(20):
        days(rule, date(30, 1, 1), week)
    assert perf_counter() - before < 0.1


def test_a_rule_goes_on_to_the_last_day_there_is_and_no_further():
    end = Window(date.max - timedelta(days=9), 9)
    for rule in (Repeat("daily", 4), Repeat("weekly", 3, weekdays=(2, 4, 6)), Repeat("monthly", monthday=31)):
        assert all(day <= date.max for day in days(rule, date(9999, 11, 1), end))
        assert next_day(rule, date(9999, 11, 1), date.max - timedelta(days=1)) in (None, date.max)
        assert next_day(rule, date(9999, 11, 1), date(9999, 11, 1)) is not None


def test_a_count_that_no_calendar_can_hold_ends_with_the_calendar():
    start = date(9990, 1, 1)
    assert last_day(Repeat("daily", 366, count=1000), start, date.max) == date(9999, 1, 8)
    assert last_day(Repeat("weekly", 366, count=1000), start, date.max) == date(9997, 1, 6)
    assert last_day(Repeat("monthly", 366, count=1000), start, date.max) == start
    assert last_day(Repeat("monthly", 11, monthday=31, count=1000), start, date.max) == date(9999, 3, 31)


def test_the_next_day_is_after_the_day_asked_about():
    rule = Repeat("weekly", weekdays=(0, 3))
    assert next_day(rule, MONDAY, MONDAY) == date(2026, 6, 4)
    assert next_day(rule, MONDAY, date(2020, 1, 1)) == MONDAY


def test_the_next_day_passes_over_days_left_out_and_ends_with_the_rule():
    rule = Repeat("daily", until=date(2026, 6, 4))
    assert next_day(rule, MONDAY, MONDAY, {date(2026, 6, 2)}) == date(2026, 6, 3)
    assert next_day(rule, MONDAY, date(2026, 6, 3), {date(2026, 6, 4)}) is None


def test_the_day_before_passes_over_days_left_out_and_ends_with_the_start():
    rule = Repeat("weekly", weekdays=(0, 3))
    assert last_day(rule, MONDAY, date(2026, 6, 9)) == date(2026, 6, 8)
    assert last_day(rule, MONDAY, date(2026, 6, 9), {date(2026, 6, 8)}) == date(2026, 6, 4)
    assert last_day(rule, MONDAY, MONDAY) is None


def test_the_day_before_is_the_last_of_a_rule_long_over():
    assert last_day(Repeat("daily", count=5), MONDAY, date(2090, 1, 1)) == date(2026, 6, 5)


def test_the_first_day_may_be_after_the_start():
    assert first_day(Repeat("monthly", monthday=31), date(2026, 6, 5)) == date(2026, 7, 31)


@pytest.mark.parametrize(
    "rule, start, said",
    [
        (Repeat("daily", until=date(2026, 5, 31)), MONDAY, "The last day is before the first"),
        (Repeat("monthly", monthday=31, until=date(2026, 6, 30)), MONDAY, "No such day comes before it ends"),
        (Repeat("monthly", 12, monthday=31), MONDAY, "No such day ever comes"),
        (Repeat("monthly", 12, monthday=30), date(2026, 2, 1), "No such day ever comes"),
    ],
)
def test_a_rule_without_any_day_is_refused_with_what_to_change(rule, start, said):
    with pytest.raises(RepeatError, match=said):
        first_day(rule, start)
    assert days(rule, start, Window(start, 900)) == ()
