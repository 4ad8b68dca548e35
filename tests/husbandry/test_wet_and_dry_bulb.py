"""Relative humidity from two thermometers."""

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.humidity import rh_from_bulbs, saturated_kpa, wet_bulb_c

temps = st.floats(15, 45)
pressures = st.floats(70, 105)


@given(temps, pressures)
def test_equal_bulbs_mean_air_that_holds_no_more_water(dry, pressure):
    assert rh_from_bulbs(dry, dry, pressure) == pytest.approx(100)


@given(temps, st.floats(0, 100), pressures)
def test_the_wet_bulb_of_a_humidity_gives_it_back(dry, rh, pressure):
    wet = wet_bulb_c(dry, rh, pressure)
    assert wet <= dry
    assert rh_from_bulbs(dry, wet, pressure) == pytest.approx(rh, abs=1e-6)


@given(st.floats(30, 45), st.floats(0, 8), st.floats(0.01, 4))
def test_a_colder_wet_bulb_means_drier_air(dry, below, more):
    assert rh_from_bulbs(dry, dry - below - more) < rh_from_bulbs(dry, dry - below)


def test_thin_air_dries_the_bulb_less():
    assert rh_from_bulbs(37.5, 30, 80) > rh_from_bulbs(37.5, 30)


def test_water_boils_at_a_hundred_degrees_at_sea_level():
    """A table value the formula was not made from; Tetens is meant for weather, so within 2 %."""
    assert saturated_kpa(100) == pytest.approx(101.3, rel=0.02)


@given(st.floats(25, 42), st.floats(0, 12))
def test_another_formula_finds_nearly_the_same(dry, below):
    """Magnus' constants and a psychrometer factor that rises with the wet bulb, as meteorologists use."""
    wet = dry - below

    def magnus(temp):
        return 0.6112 * exp(17.62 * temp / (243.12 + temp))

    vapour = magnus(wet) - 6.53e-4 * (1 + 0.000944 * wet) * 101.3 * below
    assert rh_from_bulbs(dry, wet) == pytest.approx(100 * vapour / magnus(dry), abs=1)


def test_a_wet_bulb_above_the_dry_one_was_misread():
    with pytest.raises(ValueError, match="never warmer"):
        rh_from_bulbs(30, 30.1)


def test_a_wet_bulb_colder_than_bone_dry_air_makes_it_was_misread():
    with pytest.raises(ValueError, match="no air is dry enough"):
        rh_from_bulbs(37.5, 5)


@pytest.mark.parametrize("rh", [-0.1, 100.1, float("nan")])
def test_no_air_has_such_a_humidity(rh):
    with pytest.raises(ValueError, match="between 0 and 100"):
        wet_bulb_c(37.5, rh)
