"""The smooth law against scipy's own monotone interpolation, an independent library."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from farm.husbandry import curve
from farm.trade.load import programmes
from farm.trade.programme import CURVES, Knot

SMOOTH = [name for name, (_, law, _, _) in CURVES.items() if law == "smooth"]


def same_as_scipy(knots, days) -> None:
    theirs = PchipInterpolator([k.day for k in knots], [k.value for k in knots])(days)
    np.testing.assert_allclose(curve.value(knots, days, "smooth"), theirs, rtol=1e-9, atol=1e-9)


def test_every_built_in_smooth_curve_equals_scipys_between_its_knots():
    """scipy PchipInterpolator; +-1e-9 at random days between knots."""
    days_of = np.random.default_rng(7)
    checked = 0
    for programme in programmes().values():
        for name in SMOOTH:
            knots = programme.curves.get(name, ())
            if len(knots) > 2:
                same_as_scipy(knots, days_of.uniform(knots[0].day, knots[-1].day, 50))
                checked += 1
    assert checked > 50


@settings(deadline=None)
@given(
    st.lists(st.integers(0, 400), min_size=3, max_size=9, unique=True).map(sorted),
    st.lists(st.floats(-1000, 1000).map(lambda x: round(x, 3)), min_size=9, max_size=9),
    st.lists(st.floats(0, 1), min_size=1, max_size=20),
)
def test_any_knots_rising_or_not_give_scipys_curve(days, values, parts):
    """scipy PchipInterpolator; to 1e-9."""
    knots = [Knot(day, value, "") for day, value in zip(days, values, strict=False)]
    same_as_scipy(knots, days[0] + np.array(parts) * (days[-1] - days[0]))
