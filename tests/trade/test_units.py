"""Units at the edge: exact factors, and a round trip that changes nothing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm import units
from farm.phrase import Quantity

UNITS = ("m2", "cm", "degC", "delta_degC", "g", "kg", "l")


@pytest.mark.parametrize(
    "value, unit, us, label",
    [
        (0.09290304, "m2", 1, "ft²"),
        (2.54, "cm", 1, "in"),
        (35, "degC", 95, "°F"),
        (-40, "degC", -40, "°F"),
        (10, "delta_degC", 18, "°F"),
        (28.349523125, "g", 1, "oz"),
        (0.45359237, "kg", 1, "lb"),
        (3.785411784, "l", 1, "US gal"),
    ],
)
def test_a_quantity_is_shown_in_us_units_by_their_exact_definition(value, unit, us, label):
    number, text = units.shown(Quantity(value, unit), units.US)
    assert number == pytest.approx(us, abs=1e-12)
    assert text == label


@pytest.mark.parametrize(
    "unit, label", list(zip(UNITS, ("m²", "cm", "°C", "°C", "g", "kg", "L"), strict=True))
)
def test_a_metric_farm_sees_the_stored_number_itself(unit, label):
    assert units.shown(Quantity(1.25, unit), units.METRIC) == (1.25, label)


def test_a_difference_of_five_fahrenheit_is_not_a_reading_of_five_fahrenheit():
    assert units.stored(5, "delta_degC", units.US) == pytest.approx(25 / 9)
    assert units.stored(5, "degC", units.US) == pytest.approx(-15)


@given(st.floats(-1e6, 1e6), st.sampled_from(UNITS), st.sampled_from(units.SYSTEMS))
def test_what_a_keeper_types_comes_back_as_typed(typed, unit, system):
    kept = units.stored(typed, unit, system)
    assert units.shown(Quantity(kept, unit), system)[0] == pytest.approx(typed, rel=1e-9, abs=1e-9)


@given(st.floats(-1e6, 1e6), st.sampled_from(UNITS), st.sampled_from(units.SYSTEMS))
def test_what_is_shown_and_typed_back_is_stored_unchanged(value, unit, system):
    number, _ = units.shown(Quantity(value, unit), system)
    assert units.stored(number, unit, system) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.sampled_from(UNITS), st.sampled_from(units.SYSTEMS))
def test_a_form_field_is_labelled_as_its_value_is_shown(unit, system):
    assert units.label(unit, system) == units.shown(Quantity(0, unit), system)[1]


def test_an_unknown_unit_is_refused_not_guessed():
    with pytest.raises(KeyError):
        units.shown(Quantity(1, "furlong"), units.METRIC)
    with pytest.raises(KeyError):
        units.stored(1, "furlong", units.US)


def test_an_unknown_system_is_refused_not_guessed():
    with pytest.raises(KeyError):
        units.label("m2", "imperial")
