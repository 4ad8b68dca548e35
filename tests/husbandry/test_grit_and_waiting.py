"""Grit beside the feed, and days to wait after a medicine, which the keeper alone knows."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.feeding.grit import SHELL, grit_g
from farm.husbandry.feeding.waiting import CAUTION, EGGS, MEAT, Wait, holding, refusal
from farm.trade.cautions import cautions
from farm.trade.load import programmes

BROWN, MEATY = programmes()["chicken_layer_brown"], programmes()["chicken_meat"]
GIVEN = date(2026, 4, 19)


@pytest.mark.parametrize("age, grams_a_week", [(20, 0), (21, 1), (41, 1), (42, 2), (84, 4.5), (132, 4.5)])
def test_pullets_get_the_printed_grit_by_their_age(age, grams_a_week):
    assert 7 * grit_g(BROWN, age) == pytest.approx(grams_a_week)


def test_hens_in_lay_get_twenty_eight_grams_a_month():
    assert 365.25 / 12 * grit_g(BROWN, 133) == pytest.approx(28)


def test_birds_that_are_not_kept_to_lay_stay_on_growers_grit():
    assert 7 * grit_g(MEATY, 300) == pytest.approx(4.5)


def test_no_grit_is_made_up_for_birds_without_a_table():
    for programme in programmes().values():
        assert (grit_g(programme, np.arange(9)) is None) == (programme.species != "chicken")


def test_shell_is_never_for_chicks():
    assert "Never to chicks" in str(SHELL)


@given(st.integers(0, 365), st.integers(-400, 400))
def test_a_wait_holds_from_the_day_it_was_given_for_exactly_the_days_that_were_typed(days, after):
    wait = Wait(7, GIVEN, days)
    held = holding([wait], 7, MEAT, GIVEN + timedelta(days=after))
    assert (held is wait) == (0 <= after < days)


@given(
    st.lists(st.tuples(st.integers(-30, 30), st.integers(0, 60)), min_size=1, max_size=5),
    st.integers(-10, 60),
)
def test_of_several_waits_the_last_to_end_holds(typed, after):
    waits = [Wait(7, GIVEN + timedelta(days=start), days) for start, days in typed]
    day = GIVEN + timedelta(days=after)
    ends = [w.first_allowed for w in waits if w.from_day <= day < w.first_allowed]
    held = holding(waits, 7, MEAT, day)
    assert (held.first_allowed if held else None) == max(ends, default=None)


def test_a_wait_of_one_batch_or_for_eggs_says_nothing_of_another_or_of_meat():
    waits = [Wait(7, GIVEN, 14, EGGS)]
    assert holding(waits, 8, EGGS, GIVEN) is None
    assert holding(waits, 7, MEAT, GIVEN) is None
    assert holding(waits, 7, EGGS, GIVEN) is waits[0]


def test_a_refusal_names_the_first_day_allowed_and_whose_days_they_are():
    assert (
        str(refusal(Wait(7, GIVEN, 14)))
        == "Not before 3 May: you wrote 14 days to wait for meat, from 19 April."
    )
    assert (
        str(refusal(Wait(7, GIVEN, 1, EGGS)))
        == "Eggs not before 20 April: you wrote 1 day to wait for eggs, from 19 April."
    )


def test_the_caution_beside_every_wait_exists():
    assert CAUTION in cautions()


@pytest.mark.parametrize("days", [-1, 366, 2.5, True, "14"])
def test_days_that_cannot_be_are_refused(days):
    with pytest.raises(ValueError, match="days to wait"):
        Wait(7, GIVEN, days)


def test_a_wait_for_feathers_is_refused():
    with pytest.raises(ValueError, match="no such product"):
        Wait(7, GIVEN, 3, "feathers")
