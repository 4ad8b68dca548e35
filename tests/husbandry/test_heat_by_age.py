"""Warmth by age: the target falls, heat ends on its day, and the next step down is named."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest

from farm.husbandry import heat
from farm.trade.load import programmes
from farm.trade.programme import Knot

BROWN = programmes()["chicken_layer_brown"]
each_programme = pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)


@pytest.mark.parametrize(
    "day, temp_c", [(0, 35.0), (7, 32.2), (14, 29.4), (21, 26.7), (28, 23.9), (35, 21.1)]
)
def test_layer_chicks_have_the_printed_temperature_on_each_weeks_day(day, temp_c):
    assert heat.target_temp_c(BROWN, day) == pytest.approx(temp_c)


@each_programme
def test_the_target_never_rises_with_age(programme):
    assert (np.diff(heat.target_temp_c(programme, np.arange(120))) <= 1e-12).all()


@pytest.mark.parametrize("day, needed", [(0, True), (41, True), (42, False), (400, False)])
def test_layer_chicks_need_heat_until_six_weeks(day, needed):
    assert bool(heat.needs_heat(BROWN, day)) is needed


@pytest.mark.parametrize("day, may", [(13, False), (14, True), (27, True), (28, True)])
def test_ducks_may_come_off_heat_from_two_weeks(day, may):
    assert bool(heat.may_stop(programmes()["duck"], day)) is may


@each_programme
def test_heat_may_stop_before_or_when_it_is_no_longer_needed(programme):
    ages = np.arange(100)
    assert (heat.needs_heat(programme, ages) | heat.may_stop(programme, ages)).all()


@pytest.mark.parametrize(
    "day, step", [(0, (7, 32.2)), (6, (7, 32.2)), (7, (14, 29.4)), (34, (35, 21.1)), (35, None)]
)
def test_the_next_lower_temperature_is_named_with_its_day(day, step):
    assert heat.next_lower(BROWN, day) == step


def test_no_step_down_is_named_once_heat_is_off():
    assert heat.lowerings(programmes()["goose"]) == ((7, 28.1), (14, 23.9))
    assert [day for day, _ in heat.lowerings(programmes()["quail_meat"])] == [7, 14, 21]


def test_a_week_at_the_same_temperature_is_no_step_down():
    level = (Knot(0, 35.0, ""), Knot(7, 35.0, ""), Knot(14, 30.0, ""))
    held = replace(BROWN, curves=MappingProxyType({**BROWN.curves, "temp_c": level}))
    assert heat.lowerings(held) == ((14, 30.0),)


def test_ages_come_back_in_their_own_shape():
    ages = np.arange(6).reshape(2, 3)
    assert heat.needs_heat(BROWN, ages).shape == heat.may_stop(BROWN, ages).shape == (2, 3)
    assert heat.needs_heat(BROWN, ages).dtype == bool


@pytest.mark.parametrize(
    ("day", "temp_c"), [(0, 35.0), (6, 35.0), (7, 32.2), (34, 23.9), (35, 21.1), (300, 21.1)]
)
def test_the_source_is_set_to_the_step_the_keeper_last_took(day, temp_c):
    assert heat.set_temp_c(BROWN, day) == temp_c
