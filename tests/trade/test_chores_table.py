"""The table of chores: who may do them, what goes with them, and what they wait for."""

import pytest

from farm.trade.cautions import cautions
from farm.trade.chores import ROUNDS, WHO, chores
from farm.trade.load import programmes
from farm.trade.programme import RULES
from farm.trade.sources import is_known

each_chore = pytest.mark.parametrize("chore", chores().values(), ids=lambda c: c.key)


@each_chore
def test_a_chore_says_what_when_why_and_who_says_so(chore):
    assert chore.title
    assert chore.when
    assert chore.why
    assert is_known(chore.source)
    assert is_known(chore.minutes_source)
    assert chore.who in WHO


@each_chore
def test_a_chore_falls_in_known_rounds(chore):
    assert chore.rounds
    assert set(chore.rounds) | set(chore.early_rounds) <= set(ROUNDS)


@each_chore
def test_a_chores_cautions_are_ones_that_are_written(chore):
    assert set(chore.cautions) <= set(cautions())


@each_chore
def test_no_child_is_given_heat_disinfectant_medicine_or_slaughter(chore):
    if chore.hot or {"heat_lamp", "drugs", "slaughter"} & set(chore.cautions) - {"heat_lamp"}:
        assert chore.who == "adult"
    if chore.who == "child":
        assert not chore.hot
        assert "children" in chore.cautions


@pytest.mark.parametrize(
    "key",
    [
        "heat_check",
        "heat_lower",
        "heat_off",
        "preheat",
        "clean_out",
        "footbath",
        "feed_off",
        "catch",
        "process",
    ],
)
def test_dangerous_work_is_for_adults(key):
    assert chores()[key].who == "adult"


@pytest.mark.parametrize("key", ["heat_check", "heat_lower", "heat_off", "preheat"])
def test_heat_work_shows_the_caution_for_heat_lamps_and_cords(key):
    assert chores()[key].hot
    assert {"heat_lamp", "cord"} <= set(chores()[key].cautions)


def test_every_chore_with_birds_or_eggs_tells_of_clean_hands_or_graver_things():
    for chore in chores().values():
        if not chore.hot and chore.condition not in ("stock", "orders"):
            assert {"hygiene", "bird_flu", "slaughter", "medicated"} & set(chore.cautions), chore.key


def test_feeding_is_for_anyone_twice_a_day():
    feed = chores()["feed_water"]
    assert (feed.who, feed.rounds, feed.minutes, feed.minutes_per_50) == (
        "child",
        ("morning", "evening"),
        5,
        3,
    )


def test_the_first_week_is_looked_at_three_times_a_day():
    look = chores()["look"]
    assert look.early_rounds == ("morning", "midday", "evening")
    assert look.early_until_day == 7
    assert look.rounds == ("morning", "evening")
    assert look.source == "MSU-QUAIL"


def test_vents_are_checked_on_days_one_to_seven():
    vents = chores()["vent_check"]
    assert (vents.first_day, vents.last_day, vents.every_days) == (1, 8, 1)


def test_quail_keep_their_stones_longer():
    stones = chores()["stones_out"]
    assert stones.days == (5,)
    assert stones.species_days == {"quail": 10}


def test_processing_takes_eight_minutes_a_bird():
    assert chores()["process"].minutes_per_50 == 400


def test_a_chore_dated_by_a_rule_names_one_that_programmes_have():
    named = {chore.rule for chore in chores().values() if chore.rule}
    assert named
    assert named <= set(RULES)


def test_every_chore_is_used_by_some_programme():
    used = {job for programme in programmes().values() for job in programme.jobs}
    assert set(chores()) == used
