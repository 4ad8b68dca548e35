"""Which days the board shows, its ticks, and the lanes of its marks."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.planning.breach import Breach
from farm.planning.window import Window
from farm.web.board import choice, marks, ticks
from farm.web.board.geometry import Scale

FRIDAY = date(2026, 5, 1)
SCALE = Scale(13.0, 80, 72, 1)


def test_the_board_opens_twelve_weeks_from_a_week_before_this_one():
    chosen = choice.choose({}, FRIDAY, 0)

    assert (chosen.start, chosen.weeks, chosen.is_home) == (date(2026, 4, 20), 12, True)
    assert chosen.window == Window(date(2026, 4, 20), 84)
    assert chosen.last == date(2026, 7, 12)


def test_a_farm_whose_week_begins_on_sunday_sees_sundays_first():
    assert choice.choose({}, FRIDAY, 6).start == date(2026, 4, 19)


def test_two_weeks_begin_with_this_one():
    assert choice.choose({"weeks": "2"}, FRIDAY, 0).start == date(2026, 4, 27)


@pytest.mark.parametrize("weeks", [2, 6, 12, 26])
def test_every_length_can_be_asked_for_from_any_day(weeks: int):
    chosen = choice.choose({"from": "2026-08-15", "weeks": str(weeks)}, FRIDAY, 0)

    assert (chosen.start, chosen.window.days) == (date(2026, 8, 15), weeks * 7)


@pytest.mark.parametrize(
    "asked",
    [
        {"weeks": "13"},
        {"weeks": "-2"},
        {"weeks": "²"},
        {"weeks": ""},
        {"from": "soon"},
        {"from": "9999-12-31"},
    ],
)
def test_what_cannot_be_read_falls_back_to_the_usual(asked: dict[str, str]):
    assert choice.choose(asked, FRIDAY, 0) == choice.choose({}, FRIDAY, 0)


@given(st.dates(date(2024, 1, 1), date(2028, 1, 1)), st.sampled_from([2, 6, 12, 26]))
def test_earlier_and_later_lead_back_to_each_other(start: date, weeks: int):
    here = choice.choose({"from": start.isoformat(), "weeks": str(weeks)}, FRIDAY, 0)
    there = choice.choose({"from": here.later.isoformat(), "weeks": str(weeks)}, FRIDAY, 0)

    assert there.earlier == here.start
    assert there.start == here.window.end


def test_weeks_and_months_are_ticked_and_only_weeks_numbered():
    found = ticks.ticks(Window(date(2026, 4, 27), 14), 0, SCALE)

    assert [(tick.day.day, tick.kind, tick.labelled, tick.x) for tick in found] == [
        (27, "week", True, 0.0),
        (1, "month", False, 52.0),
        (4, "week", True, 91.0),
    ]


def test_wide_days_are_all_numbered():
    found = ticks.ticks(Window(FRIDAY, 3), 0, Scale(78.0, 80, 72, 1))

    assert [(tick.kind, tick.labelled) for tick in found] == [("month", True), ("day", True), ("day", True)]


def test_a_month_too_short_for_its_name_has_none():
    names = ticks.months(Window(date(2026, 4, 27), 84), SCALE)

    assert [(month.day, month.x) for month in names] == [
        (date(2026, 5, 1), 52.0),
        (date(2026, 6, 1), 455.0),
        (date(2026, 7, 1), 845.0),
    ]


def test_a_board_of_a_few_days_still_names_its_month():
    assert [month.day for month in ticks.months(Window(FRIDAY, 3), SCALE)] == [FRIDAY]


def test_today_is_marked_only_when_it_is_shown():
    window = Window(FRIDAY, 14)

    assert ticks.today_at(window, FRIDAY, SCALE) == 0.0
    assert ticks.today_at(window, FRIDAY + timedelta(days=13), SCALE) == 169.0
    assert ticks.today_at(window, FRIDAY + timedelta(days=14), SCALE) is None
    assert ticks.today_at(window, FRIDAY - timedelta(days=1), SCALE) is None


def breach(start: int, stop: int) -> Breach:
    first = FRIDAY + timedelta(days=start)
    return Breach("room", "1", ("1",), first, FRIDAY + timedelta(days=stop), first, 1.0, 1)


def drawn(*runs: tuple[int, int]) -> tuple[marks.Mark, ...]:
    return marks.marks(marks.numbered([breach(*run) for run in runs]), Window(FRIDAY, 28), SCALE)


def test_a_mark_spans_the_days_of_its_breach():
    (mark,) = drawn((2, 5))

    assert (mark.x, mark.width, mark.lane, mark.y) == (26.0, 39.0, 0, 0.0)
    assert mark.disc == 26.0 + marks.LANE / 2


def test_marks_that_would_touch_stand_in_lanes_of_their_own():
    assert [mark.lane for mark in drawn((0, 10), (5, 12), (10, 14), (12, 20))] == [0, 1, 0, 1]


def test_a_short_breach_keeps_room_for_its_number():
    first, second = drawn((0, 1), (1, 2))

    assert (first.lane, second.lane) == (0, 1)


def test_a_breach_on_the_last_day_keeps_its_number_on_the_board():
    (mark,) = drawn((27, 28))

    assert (mark.x, mark.disc) == (351.0, 351.0)


def test_a_breach_outside_the_days_shown_is_not_drawn():
    assert drawn((40, 50)) == ()


@given(st.lists(st.tuples(st.integers(0, 26), st.integers(1, 10)), max_size=12))
def test_no_two_marks_of_a_lane_overlap(runs: list[tuple[int, int]]):
    found = drawn(*((start, min(28, start + days)) for start, days in runs))

    assert len(found) == len(runs)
    for one in found:
        for other in found:
            if one.lane == other.lane and one.numbered.number < other.numbered.number:
                assert abs(one.disc - other.disc) >= marks.LANE
