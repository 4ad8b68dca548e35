"""Going out by day, nights borne, bedding, rest days and days in the incubator."""

import numpy as np
import pytest

from farm.husbandry import incubation, litter, outdoors
from farm.trade.load import programmes

BROWN, DUCK = programmes()["chicken_layer_brown"], programmes()["duck"]
each_programme = pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)


@pytest.mark.parametrize("afternoon_c, day", [(None, 28), (20.9, 28), (21, 21), (30, 21)])
def test_a_warm_afternoon_lets_chickens_out_a_week_earlier(afternoon_c, day):
    assert outdoors.first_day_out(BROWN, afternoon_c) == day


def test_ducks_go_out_at_three_weeks_whatever_the_afternoon():
    assert outdoors.first_day_out(DUCK) == outdoors.first_day_out(DUCK, 30) == 21


def test_going_out_begins_on_its_day_and_not_the_day_before():
    assert outdoors.may_go_out(BROWN, [27, 28]).tolist() == [False, True]


@pytest.mark.parametrize(
    "day, temp_c", [(0, 32), (13, 32), (14, 29), (41, 16), (42, 10), (56, -5), (400, -5)]
)
def test_chickens_bear_the_stated_nights_by_completed_weeks(day, temp_c):
    assert outdoors.night_min_c(BROWN, day) == temp_c


@each_programme
def test_older_birds_never_need_a_warmer_night(programme):
    assert (np.diff(outdoors.night_min_c(programme, np.arange(150))) <= 0).all()


def test_feathers_are_complete_on_the_stated_day():
    assert outdoors.feathered(BROWN, [41, 42]).tolist() == [False, True]


def test_indoor_bedding_lasts_two_days_and_a_waterfowls_one():
    assert litter.bedding_every_days(BROWN, [3, 30]).tolist() == [2, 2]
    assert litter.bedding_every_days(DUCK, [3, 30]).tolist() == [1, 1]


def test_bedding_in_a_pen_lasts_a_week():
    assert litter.bedding_every_days(DUCK, [30], indoors=False).tolist() == [7]


@each_programme
def test_litter_is_as_deep_as_the_programme_says(programme):
    assert litter.depth_cm(programme) == programme.rules["litter_depth_cm"].value


@pytest.mark.parametrize(
    "kind, days",
    [
        ("brooder", 14),
        ("pen", 14),
        ("coop", 14),
        ("run", 28),
        ("paddock", 28),
        ("hatcher", 1),
        ("incubator", 1),
    ],
)
def test_a_housing_rests_by_its_kind(kind, days):
    assert litter.rest_days(kind) == days


@pytest.mark.parametrize("kind", ["barn", "warn_below", ""])
def test_an_unknown_kind_of_housing_is_refused(kind):
    with pytest.raises(KeyError):
        litter.rest_days(kind)


@pytest.mark.parametrize(
    "key, days, lockdown",
    [
        ("chicken_meat", 21, 18),
        ("turkey_large", 28, 25),
        ("duck", 28, 25),
        ("duck_muscovy", 35, 32),
        ("goose", 30, 27),
        ("quail_layer", 17, 14),
        ("guinea", 27, 24),
        ("pheasant", 24, 21),
    ],
)
def test_eggs_hatch_and_lock_down_on_their_species_days(key, days, lockdown):
    assert incubation.hatch_after_days(programmes()[key]) == days
    assert incubation.lockdown_after_days(programmes()[key]) == lockdown


@each_programme
def test_eggs_are_turned_from_day_two_until_the_day_before_lockdown(programme):
    days = incubation.turning_days(programme)
    assert days[0] == 2
    assert days[-1] == incubation.lockdown_after_days(programme) - 1
