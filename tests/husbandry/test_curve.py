"""From knots to any day: through every knot, between its neighbours, held at both ends."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry import curve
from farm.trade.load import programmes
from farm.trade.programme import CURVES, Knot

LAWS = ("step", "linear", "smooth")
THREE = (Knot(0, 40.0, ""), Knot(7, 100.0, ""), Knot(21, 130.0, ""))


@st.composite
def knots(draw, rising=False):
    days = sorted(draw(st.lists(st.integers(0, 300), min_size=1, max_size=10, unique=True)))
    values = draw(st.lists(st.floats(-100, 100), min_size=len(days), max_size=len(days)))
    return tuple(Knot(d, v, "") for d, v in zip(days, sorted(values) if rising else values, strict=True))


@pytest.mark.parametrize(
    "day, value", [(-5, 40), (0, 40), (6, 40), (7, 100), (20, 100), (21, 130), (999, 130)]
)
def test_a_step_holds_from_its_day_until_the_next(day, value):
    assert curve.value(THREE, day, "step") == value


@pytest.mark.parametrize("day, value", [(0, 40), (3.5, 70), (7, 100), (14, 115), (21, 130)])
def test_the_linear_law_draws_straight_lines(day, value):
    assert curve.value(THREE, day, "linear") == pytest.approx(value)


def test_two_smooth_knots_are_a_straight_line():
    assert curve.value(THREE[:2], [0, 3.5, 7], "smooth").tolist() == [40, 70, 100]


def test_one_knot_is_the_same_value_for_ever():
    for law in LAWS:
        assert curve.value(THREE[:1], [-1, 0, 500], law).tolist() == [40, 40, 40]


@given(knots(), st.sampled_from(LAWS))
def test_every_law_passes_through_every_knot(points, law):
    found = curve.value(points, [k.day for k in points], law)
    np.testing.assert_allclose(found, [k.value for k in points], rtol=0, atol=1e-9)


@given(knots(), st.sampled_from(LAWS), st.floats(0, 400))
def test_both_ends_are_held(points, law, far):
    first, last = points[0], points[-1]
    assert curve.value(points, first.day - far, law) == pytest.approx(first.value)
    assert curve.value(points, last.day + far, law) == pytest.approx(last.value)


@given(knots(), st.sampled_from(LAWS))
def test_no_day_leaves_the_span_of_its_two_neighbours(points, law):
    for before, after in pairwise(points):
        found = curve.value(points, np.linspace(before.day, after.day, 30), law)
        assert found.min() >= min(before.value, after.value) - 1e-9
        assert found.max() <= max(before.value, after.value) + 1e-9


@given(knots(rising=True), st.sampled_from(LAWS))
def test_rising_knots_give_a_rising_curve(points, law):
    found = curve.value(points, np.arange(-5, 320), law)
    assert (np.diff(found) >= -1e-9).all()


@given(knots(), st.sampled_from(LAWS))
def test_many_ages_at_once_equal_one_at_a_time(points, law):
    ages = np.arange(0, 310, 7)
    one_by_one = [float(curve.value(points, age, law)) for age in ages.tolist()]
    assert curve.value(points, ages, law).tolist() == one_by_one


@pytest.mark.parametrize("law", LAWS)
def test_the_answer_has_the_shape_of_the_ages(law):
    ages = np.arange(12).reshape(3, 4)
    found = curve.value(THREE, ages, law)
    assert found.shape == (3, 4)
    assert found.dtype == np.float64
    assert curve.value(THREE, 5, law).shape == ()
    assert curve.value(THREE, [], law).shape == (0,)


@pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)
def test_built_in_curves_stay_between_their_neighbours_on_every_day(programme):
    for name, points in programme.curves.items():
        for before, after in pairwise(points):
            found = curve.of(programme, name, np.arange(before.day, after.day + 1))
            assert found.min() >= min(before.value, after.value), (name, before.day)
            assert found.max() <= max(before.value, after.value), (name, before.day)


def test_a_named_curve_is_read_by_its_own_law():
    brown = programmes()["chicken_layer_brown"]
    for name in brown.curves:
        law = CURVES[name][1]
        assert curve.of(brown, name, 30) == curve.value(brown.curves[name], 30, law)


def test_an_unknown_law_is_refused():
    with pytest.raises(ValueError, match="no such law: wavy"):
        curve.value(THREE, 3, "wavy")


def test_a_curve_without_knots_is_refused():
    with pytest.raises(ValueError, match="at least one knot"):
        curve.value((), 3, "step")
