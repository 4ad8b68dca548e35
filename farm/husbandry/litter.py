"""Bedding, and the rest a housing has after birds leave it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import curve
from farm.trade.general import figure, general
from farm.trade.programme import Programme

#: Groups of `rest_days` that are not kinds of housing.
_NOT_KINDS = frozenset({"weekly_batches", "warn_below"})


def bedding_every_days(
    programme: Programme, age_days: ArrayLike, indoors: bool = True
) -> NDArray[np.float64]:
    """Return how many days bedding lasts before it is refreshed, at each age.

    indoors: a small indoor brooder; otherwise a pen, where it lasts a week or the programme's figure if
    longer.
    """
    every = curve.of(programme, "bedding_every_days", age_days)
    return every if indoors else np.maximum(every, figure("bedding", "pen_every_days"))


def depth_cm(programme: Programme) -> float:
    """Return the depth of litter in cm."""
    return programme.rules["litter_depth_cm"].value


def rest_days(kind: str) -> int:
    """Return the days a housing of this kind rests after it is emptied, cleaning included.

    kind: incubator, hatcher, brooder, pen, coop, run or paddock. Raises KeyError for any other.
    """
    if kind in _NOT_KINDS:
        raise KeyError(kind)
    return int(general()["rest_days"][kind].value)
