"""Ages as keepers type them."""

from __future__ import annotations

import pytest
from django import forms
from hypothesis import given
from hypothesis import strategies as st

from farm.web.orders import ages


@pytest.mark.parametrize(
    ("typed", "days"),
    [
        ("8 weeks", 56),
        ("8 w", 56),
        ("8w", 56),
        ("8 WKS.", 56),
        ("56", 56),
        ("56 days", 56),
        ("1 week, 3 days", 10),
        ("2w 1d", 15),
        ("0", 0),
        ("day-olds", 0),
        (" Day-old ", 0),
        ("400", 400),
    ],
)
def test_weeks_days_and_plain_numbers_are_understood(typed: str, days: int):
    assert ages.AgeField().clean(typed) == days


@pytest.mark.parametrize(
    "typed", ["soon", "-3", "1.5 weeks", "8 months", "2 weeks 3", "weeks", "401", "58 weeks", "8 w!", "٣x"]
)
def test_what_is_no_age_is_refused_with_an_example(typed: str):
    with pytest.raises(forms.ValidationError):
        ages.AgeField().clean(typed)


def test_nothing_typed_is_asked_for_where_an_age_is_needed():
    with pytest.raises(forms.ValidationError):
        ages.AgeField().clean("  ")
    assert ages.AgeField(required=False).clean("") is None


@given(st.integers(0, ages.OLDEST_DAYS))
def test_a_stored_age_shown_and_sent_back_is_the_same(days: int):
    field = ages.AgeField()

    assert field.clean(field.prepare_value(days)) == days


@pytest.mark.parametrize(
    ("youngest", "oldest", "words"),
    [
        (0, 0, "day-olds"),
        (0, 3, "day-olds, up to 3 days"),
        (0, 400, "of any age"),
        (35, 42, "5 to 6 weeks old"),
        (28, 34, "28 to 34 days old"),
        (56, 56, "8 weeks old"),
        (140, 400, "at least 20 weeks old"),
        (1, 1, "1 day old"),
    ],
)
def test_ages_are_said_in_one_unit(youngest: int, oldest: int, words: str):
    assert ages.span(youngest, oldest) == words
