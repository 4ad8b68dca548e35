"""Feed: how much a bird eats, which feed it is on, and how one feed is mixed into the next."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import curve
from farm.husbandry.growth import FEMALE, MALE, SEXES, STRAIGHT_RUN
from farm.trade.general import figure
from farm.trade.programme import FeedPhase, Programme

#: Shares of the new feed while changing over (common practice, no source), each for its part of the days.
NEW_SHARES = (0.25, 0.5, 0.75)


def feed_eaten_kg(programme: Programme, age_days: ArrayLike, sex: str = STRAIGHT_RUN) -> NDArray[np.float64]:
    """Return the feed one bird has eaten from hatch to the morning of each age, in kg, waste not counted.

    After the last knot a bird eats the programme's grown_feed_g a day. sex: of growth.SEXES; straight run is
    the mean of the two. Raises ValueError for any other.
    """
    if sex not in SEXES:
        raise ValueError(f"no such sex of a batch: {sex}")
    if sex == STRAIGHT_RUN:
        return (feed_eaten_kg(programme, age_days, FEMALE) + feed_eaten_kg(programme, age_days, MALE)) / 2
    name = "feed_eaten_female_kg" if sex == FEMALE else "feed_eaten_male_kg"
    later = np.maximum(np.asarray(age_days, dtype=np.float64) - programme.curves[name][-1].day, 0)
    return curve.of(programme, name, age_days) + later * programme.rules["grown_feed_g"].value / 1000


def feed_g(programme: Programme, age_days: ArrayLike, sex: str = STRAIGHT_RUN) -> NDArray[np.float64]:
    """Return the feed one bird eats on the day it is each age, in g: what the eaten feed grows by in that day."""
    ages = np.asarray(age_days, dtype=np.float64)
    return 1000 * (feed_eaten_kg(programme, ages + 1, sex) - feed_eaten_kg(programme, ages, sex))


def changes(programme: Programme) -> list[tuple[int, FeedPhase, FeedPhase]]:
    """Return each change of feed as (day of age, from, to)."""
    return [(new.day, old, new) for old, new in zip(programme.feeds, programme.feeds[1:], strict=False)]


def mixing(day: int) -> list[tuple[int, float]]:
    """Return how a new feed is mixed in that is due on `day` of age.

    Each entry is (day of age, share of the new feed from then on). Over 7 days: a quarter, half, three quarters, all.
    """
    days = int(figure("feed", "change_over_days"))
    steps = [(day + round(days * part / len(NEW_SHARES)), share) for part, share in enumerate(NEW_SHARES)]
    return [*steps, (day + days, 1.0)]


def shares(programme: Programme, age_days: ArrayLike) -> NDArray[np.float64]:
    """Return which part of a day's feed is of each phase, shape (phases, *ages): 1 in all at every age.

    A change of feed is mixed in as `mixing` says; before the first phase, the first.
    """
    ages = np.asarray(age_days, dtype=np.float64)
    parts = np.zeros((len(programme.feeds), *ages.shape))
    parts[0] = 1
    for later, phase in enumerate(programme.feeds[1:], start=1):
        days, new = zip(*mixing(phase.day), strict=True)
        share = np.concatenate(([0.0], new))[np.searchsorted(days, ages, side="right")]
        parts[:later] *= 1 - share
        parts[later] = share
    return parts
