"""Going out by age: from when birds may go out by day and by night, and what nights they bear."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import curve
from farm.trade.general import figure
from farm.trade.programme import Programme


def first_day_out(programme: Programme, afternoon_c: float | None = None) -> int:
    """Return the first day of age on which birds may go out by day.

    afternoon_c: the afternoon's temperature outside in °C; from 21 °C on, the programme's earlier warm day
    holds.
    """
    warm = afternoon_c is not None and afternoon_c >= figure("outdoors", "warm_afternoon_c")
    return int(programme.rules["warm_day_out_day" if warm else "day_out_day"].value)


def nights_out_age(programme: Programme) -> int:
    """Return the day of age from which birds may stay out at night if it is warm enough: feathered, and out by day."""
    return max(first_day_out(programme), int(programme.rules["feathered_day"].value))


def night_min_c(programme: Programme, age_days: ArrayLike) -> NDArray[np.float64]:
    """Return the lowest night in °C at bird height, dry and out of draughts, that each age is taken to bear.

    Every built-in value is a project default: no official table by age is known.
    """
    return curve.of(programme, "night_min_c", age_days)
