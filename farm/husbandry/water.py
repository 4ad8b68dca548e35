"""Water a bird drinks, at 20 to 21 °C and in heat."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import curve, rations
from farm.husbandry.growth import STRAIGHT_RUN
from farm.trade.general import figure
from farm.trade.programme import Programme


def water_l(programme: Programme, age_days: ArrayLike, sex: str = STRAIGHT_RUN) -> NDArray[np.float64]:
    """Return the water one bird drinks on the day it is each age, in litres, at 20 to 21 °C.

    From the programme's own curve where it has one. Without it, and before its first knot (where it would
    hold a half-grown bird's figure for a chick), twice the feed by weight; before the first knot never more
    than that knot.
    """
    ages = np.asarray(age_days, dtype=np.float64)
    by_feed = figure("water", "water_per_feed") * rations.feed_g(programme, ages, sex) / 1000
    knots = programme.curves.get("water_per_100_l")
    if not knots:
        return by_feed
    by_curve = curve.of(programme, "water_per_100_l", ages) / 100
    return np.where(ages < knots[0].day, np.minimum(by_feed, by_curve), by_curve)


def hot_factor(air_c: float) -> tuple[float, float]:
    """Return (least, most) times the usual water that birds drink in air of this many °C: 1.3 to 1.5 above 32 °C."""
    if air_c <= figure("water", "hot_from_c"):
        return 1.0, 1.0
    return 1 + figure("water", "hot_extra_low"), 1 + figure("water", "hot_extra_high")
