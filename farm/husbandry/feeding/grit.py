"""Grit and shell: what goes beside the feed. There is a table for chickens alone."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry.lay import point_of_lay
from farm.husbandry.survival import DAYS_A_MONTH
from farm.phrase import N_, Phrase
from farm.trade.general import figure
from farm.trade.programme import Programme

_DAYS_A_WEEK = 7
#: Days of age that the figures of the table are named by.
_KNOT_DAYS = (21, 42, 84)
SHELL = Phrase(
    N_("Oyster shell or limestone grit in its own dish from the first egg. Never to chicks or growers.")
)


def grit_g(programme: Programme, age_days: ArrayLike) -> NDArray[np.float64] | None:
    """Return the insoluble grit in g one bird needs on the day it is each age, or None without a table.

    Only where birds get anything but complete feed: grass, insects and whole grain count.
    """
    if programme.species != "chicken":
        return None
    ages, lay = np.asarray(age_days), point_of_lay(programme)
    grams = np.zeros(ages.shape)
    for day in _KNOT_DAYS:
        grams = np.where(ages >= day, figure("grit", f"week_day_{day}_g") / _DAYS_A_WEEK, grams)
    if lay is not None:
        grams = np.where(ages >= lay, figure("grit", "month_lay_g") / DAYS_A_MONTH, grams)
    return grams
