"""Odds in words, and how they went."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.models import LineOdds as Recorded
from farm.planning.allotments import LineOdds
from farm.web.orders import course, wording
from tests.conftest import TODAY


@given(st.floats(0, 1))
def test_a_chance_is_never_said_to_be_certain(chance: float):
    assert wording.percent(chance) not in ("0\xa0%", "100\xa0%")


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (1.0, "very likely"),
        (0.8, "likely"),
        (0.5, "about as likely as not"),
        (0.2, "unlikely"),
        (0.0, "very unlikely"),
    ],
)
def test_a_chance_has_a_word(chance: float, words: str):
    assert wording.likely(chance) == words


def test_a_line_is_said_with_all_its_numbers():
    odds = LineOdds(40, 40, 0, 39.4, 0.912, 38, 40, None)

    assert wording.stands(odds) == "ordered 40, expected 39; all 40 with 91\xa0%"
    assert wording.band(odds) == "8 times in 10 between 38 and 40"
    assert wording.band(LineOdds(40, 40, 0, 40.0, 1.0, 40, 40, None)) == ""


def recorded(*chances: float, every: int = 1) -> list[Recorded]:
    return [
        Recorded(day=TODAY + timedelta(days=every * n), chance=chance, expected=9, allotted=9, low=8, high=10)
        for n, chance in enumerate(chances)
    ]


def test_one_day_is_no_course():
    assert course.draw([]) is None
    assert course.draw(recorded(0.5)) is None


@given(st.lists(st.floats(0, 1), min_size=2, max_size=200))
def test_the_course_stays_inside_its_drawing_and_ends_today(chances: list[float]):
    drawn = course.draw(recorded(*chances))

    assert drawn is not None
    assert all(0 <= day.x <= drawn.width and drawn.ceiling <= day.y <= drawn.floor for day in drawn.days)
    assert [day.x for day in drawn.days] == sorted(day.x for day in drawn.days)
    assert drawn.days[-1].odds.chance == chances[-1]


def test_a_better_chance_stands_higher():
    drawn = course.draw(recorded(0.0, 1.0))

    assert drawn is not None
    assert [day.y for day in drawn.days] == [drawn.floor, drawn.ceiling]
