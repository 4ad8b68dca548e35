"""Floor, feeder, drinker, perch and nest by age, and the arrays occupancy reads."""

import numpy as np
import pytest

from farm.husbandry import heat, space
from farm.husbandry.needs import needs
from farm.trade.load import programmes

BROWN = programmes()["chicken_layer_brown"]
each_programme = pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)


@pytest.mark.parametrize(
    "day, area", [(0, 0.023), (6, 0.023), (7, 0.046), (34, 0.070), (35, 0.093), (500, 0.186)]
)
def test_floor_area_steps_up_on_its_printed_days(day, area):
    assert space.area_m2(BROWN, day) == area


@pytest.mark.parametrize(
    "day, feeder, drinker", [(0, 2.5, 1.3), (34, 5.1, 1.3), (35, 5.1, 1.9), (112, 10.2, 2.5)]
)
def test_feeder_and_drinker_edge_step_up_on_their_printed_days(day, feeder, drinker):
    assert space.feeder_cm(BROWN, day) == feeder
    assert space.drinker_cm(BROWN, day) == drinker


@each_programme
def test_a_bird_never_needs_less_edge_or_floor_as_it_grows(programme):
    ages = np.arange(300)
    for ask in (space.area_m2, space.feeder_cm, space.drinker_cm):
        assert (np.diff(ask(programme, ages)) >= 0).all()


def test_twenty_hens_have_four_metres_of_perch_and_four_nests():
    assert space.perch_cm(BROWN, 20) == 400
    assert space.nests(BROWN, 20) == 4


@pytest.mark.parametrize("hens, nests", [(0, 0), (1, 1), (5, 1), (6, 2)])
def test_a_nest_begun_is_a_whole_nest(hens, nests):
    assert space.nests(BROWN, hens) == nests


def test_geese_get_neither_perch_nor_nest():
    assert space.perch_cm(programmes()["goose"], 10) == 0
    assert space.nests(programmes()["goose"], 10) == 0


@each_programme
def test_needs_are_the_curves_day_by_day(programme):
    found, ages = needs(programme, 200), np.arange(200)
    np.testing.assert_array_equal(found.area_m2, space.area_m2(programme, ages))
    np.testing.assert_array_equal(found.feeder_cm, space.feeder_cm(programme, ages))
    np.testing.assert_array_equal(found.drinker_cm, space.drinker_cm(programme, ages))
    np.testing.assert_array_equal(found.heat, heat.needs_heat(programme, ages))


def test_needs_of_no_days_are_empty():
    assert [len(part) for part in (needs(BROWN, 0).area_m2, needs(BROWN, 0).heat)] == [0, 0]


def test_needs_of_a_negative_span_are_refused():
    with pytest.raises(ValueError, match="must not be negative"):
        needs(BROWN, -1)
