"""Feed by age and sex, the feeds in their order, and the days of mixing."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry import rations
from farm.husbandry.growth import FEMALE, MALE, SEXES, weight_g
from farm.trade.load import programmes

BROWN = programmes()["chicken_layer_brown"]
each_programme = pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)


@pytest.mark.parametrize("day, kg", [(0, 0), (28, 0.44), (42, 0.93), (84, 3.30), (140, 7.85)])
def test_pullets_have_eaten_the_printed_feed_by_each_knot(day, kg):
    assert rations.feed_eaten_kg(BROWN, day, FEMALE) == pytest.approx(kg)


@pytest.mark.parametrize("age, grams", [(5, 7), (15, 16), (35, 35), (77, 63.5)])
def test_pullets_eat_about_the_rule_of_thumb_each_day(age, grams):
    # the rule the knots were added up from: age + 2 g, age + 1 g, age g, then 50 + (age - 50) / 2 g
    assert rations.feed_g(BROWN, age, FEMALE) == pytest.approx(grams, abs=2.5)


@each_programme
@pytest.mark.parametrize("sex", SEXES)
def test_the_days_feed_adds_up_to_what_was_eaten(programme, sex):
    ages = np.arange(250)
    eaten = rations.feed_eaten_kg(programme, 250, sex)
    assert rations.feed_g(programme, ages, sex).sum() / 1000 == pytest.approx(float(eaten))


@each_programme
def test_every_bird_eats_something_every_day_and_never_more_than_is_believable(programme):
    feed = rations.feed_g(programme, np.arange(300))
    assert feed.min() > 0
    assert feed.max() <= 800


@each_programme
def test_a_grown_bird_eats_the_stated_grams_a_day(programme):
    assert rations.feed_g(programme, 700) == pytest.approx(programme.rules["grown_feed_g"].value)


@each_programme
def test_straight_run_eats_the_mean_of_the_sexes(programme):
    ages = np.arange(0, 200, 5)
    mean = (rations.feed_g(programme, ages, FEMALE) + rations.feed_g(programme, ages, MALE)) / 2
    np.testing.assert_allclose(rations.feed_g(programme, ages), mean, rtol=0, atol=1e-9)


def test_a_layer_cockerel_eats_three_point_six_times_its_gain_by_day_105():
    gain_kg = float(weight_g(BROWN, 105, MALE) - weight_g(BROWN, 0, MALE)) / 1000
    assert rations.feed_eaten_kg(BROWN, 105, MALE) == pytest.approx(3.6 * gain_kg, rel=0.002)


@pytest.mark.parametrize(
    "age, parts",
    [
        (-3, [1, 0, 0, 0]),
        (41, [1, 0, 0, 0]),
        (42, [0.75, 0.25, 0, 0]),
        (46, [0.5, 0.5, 0, 0]),
        (47, [0.25, 0.75, 0, 0]),
        (49, [0, 1, 0, 0]),
        (140, [0, 0, 0.75, 0.25]),
        (900, [0, 0, 0, 1]),
    ],
)
def test_a_days_feed_is_mixed_of_the_old_and_the_new(age, parts):
    np.testing.assert_allclose(rations.shares(BROWN, age), parts)


@each_programme
def test_a_days_feed_is_always_whole_and_never_goes_back_to_an_older_one(programme):
    parts = rations.shares(programme, np.arange(-5, 300))
    np.testing.assert_allclose(parts.sum(axis=0), 1)
    assert parts.min() >= 0
    newest = (parts * np.arange(len(parts))[:, None]).sum(axis=0)
    assert (np.diff(newest) >= 0).all()


def test_changes_that_follow_each_other_within_the_mixing_days_still_make_a_whole():
    quick = replace(BROWN, feeds=tuple(replace(f, day=2 * i) for i, f in enumerate(BROWN.feeds)))
    parts = rations.shares(quick, np.arange(30))
    np.testing.assert_allclose(parts.sum(axis=0), 1)
    assert parts.min() >= 0
    np.testing.assert_allclose(parts[:, -1], [0, 0, 0, 1])


def test_each_change_of_feed_is_named_with_its_day():
    named = [(day, old.feed, new.feed) for day, old, new in rations.changes(BROWN)]
    assert named == [(42, "starter", "grower"), (70, "grower", "developer"), (140, "developer", "layer")]


def test_a_programme_with_one_feed_has_no_change():
    assert rations.changes(replace(BROWN, feeds=BROWN.feeds[:1])) == []


def test_a_change_of_feed_is_mixed_in_over_seven_days():
    assert rations.mixing(42) == [(42, 0.25), (44, 0.5), (47, 0.75), (49, 1.0)]


@given(st.integers(0, 400))
def test_mixing_only_ever_adds_new_feed_and_ends_with_nothing_else(day):
    steps = rations.mixing(day)
    assert [share for _, share in steps] == sorted(share for _, share in steps)
    assert [when for when, _ in steps] == sorted({when for when, _ in steps})
    assert steps[-1] == (day + 7, 1.0)


@each_programme
def test_no_programme_gives_layer_feed_before_it_is_allowed(programme):
    if programme.species == "chicken":
        assert all(phase.day >= 112 for phase in programme.feeds if phase.feed == "layer")


def test_an_unknown_sex_is_refused():
    with pytest.raises(ValueError, match="no such sex of a batch: hen"):
        rations.feed_g(BROWN, 10, "hen")
