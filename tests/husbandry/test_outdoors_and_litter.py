"""Going out by day, nights borne, bedding and rest days."""

import numpy as np
import pytest

from farm.husbandry import litter, outdoors
from farm.trade.load import programmes

BROWN, DUCK = programmes()["chicken_layer_brown"], programmes()["duck"]
each_programme = pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)


@pytest.mark.parametrize("afternoon_c, day", [(None, 28), (20.9, 28), (21, 21), (30, 21)])
def test_a_warm_afternoon_lets_chickens_out_a_week_earlier(afternoon_c, day):
    assert outdoors.first_day_out(BROWN, afternoon_c) == day


def test_ducks_go_out_at_three_weeks_whatever_the_afternoon():
    assert outdoors.first_day_out(DUCK) == outdoors.first_day_out(DUCK, 30) == 21


@pytest.mark.parametrize(
    "day, temp_c", [(0, 32), (13, 32), (14, 29), (41, 16), (42, 10), (56, -5), (400, -5)]
)
def test_chickens_bear_the_stated_nights_by_completed_weeks(day, temp_c):
    assert outdoors.night_min_c(BROWN, day) == temp_c


@each_programme
def test_older_birds_never_need_a_warmer_night(programme):
    assert (np.diff(outdoors.night_min_c(programme, np.arange(150))) <= 0).all()


@each_programme
def test_nights_out_wait_for_feathers_and_for_days_out(programme):
    age = outdoors.nights_out_age(programme)
    assert age in {programme.rules["feathered_day"].value, outdoors.first_day_out(programme)}
    assert age >= programme.rules["feathered_day"].value
    assert age >= outdoors.first_day_out(programme)


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
