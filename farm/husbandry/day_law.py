"""The law of one day's low or high through the year: mean, spread and shape for every date.

A normal score (how many spreads off the mean a normal law would be) is bent into the score the place really has: its
shape. Without a record the shape is the normal law's own. Clear winter nights, for one, reach further down than up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import year_curve
from farm.husbandry.year_curve import COMMON, LEAP, MONTHS, Array
from farm.trade.general import figure

Days = date | Sequence[date]

#: Where a shape is known: the chance of a colder day.
LEVELS = (0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98)
#: Beyond the outermost levels a shape goes on as the normal law does; so far out nothing is ever asked.
_FAR = 9.0
_NORMAL = NormalDist()
_INNER = np.array([_NORMAL.inv_cdf(level) for level in LEVELS])
#: The normal scores of a shape's knots.
SCORES = np.concatenate(([-_FAR], _INNER, [_FAR]))
#: A spread below this is none: its days are certain.
_NO_SPREAD_C = 1e-9
#: A score beyond every knot.
_BEYOND = 1e6

Shape = tuple[tuple[float, ...], ...]
#: By month, the score at each of LEVELS. This one is the normal law's.
NORMAL: Shape = (tuple(_INNER.tolist()),) * MONTHS


@dataclass(frozen=True)
class DayLaw:
    """How one reading of the day is spread through the year. mean_c, sd_c: by month; shape: scores by month and level.

    sd_c is the spread of a month's days about the month's mean. The part of it that is only the season going on within
    the month is taken off, for each day has a mean of its own. Raises ValueError for a shape that does not rise.
    """

    mean_c: tuple[float, ...]
    sd_c: tuple[float, ...]
    shape: Shape = NORMAL

    def __post_init__(self) -> None:
        scores = np.asarray(self.shape, dtype=np.float64)
        if scores.shape != (MONTHS, len(LEVELS)) or not (np.diff(scores, axis=1) > 0).all():
            raise ValueError(f"a shape has {MONTHS} rows of {len(LEVELS)} rising scores")

    def mean_and_sd(self, days: Days) -> tuple[Array, Array]:
        """Return each day's mean and spread in °C, in the shape of `days`: 0-d for one date."""
        means, spreads, _ = self._rows(days)
        return means, spreads

    def chance_at_least(self, days: Days, temp_c: ArrayLike) -> Array:
        """Return the chance that each day's reading is temp_c or more. Where nothing is spread it is 0 or 1."""
        means, spreads, knots = self._rows(days)
        off = np.asarray(temp_c, dtype=np.float64) - means
        certain = np.where(off <= _NO_SPREAD_C, -_BEYOND, _BEYOND)
        score = np.divide(off, spreads, out=certain, where=spreads > _NO_SPREAD_C)
        bent = _bend(score, knots, np.broadcast_to(SCORES, knots.shape))
        return normal_above(bent)

    def quantile(self, days: Days, q: float) -> Array:
        """Return the °C each day's reading is below with chance q. Raises ValueError unless 0 < q < 1."""
        if not 0 < q < 1:
            raise ValueError("q must be between 0 and 1")
        means, spreads, knots = self._rows(days)
        score = np.full(means.shape, _NORMAL.inv_cdf(q))
        return means + spreads * _bend(score, np.broadcast_to(SCORES, knots.shape), knots)

    def _rows(self, days: Days) -> tuple[Array, Array, Array]:
        single = isinstance(days, date)
        asked = [days] if isinstance(days, date) else list(days)
        rows = year_curve.pick(*self._tables, asked)
        rows = rows[0] if single else rows
        return rows[..., 0], rows[..., 1], rows[..., 2:]

    @cached_property
    def _tables(self) -> tuple[Array, Array]:
        """Rows of (mean, spread, score at each knot) by day: a common year's and a leap year's."""
        return self._table(COMMON), self._table(LEAP)

    def _table(self, length: int) -> Array:
        mean = year_curve.smooth(self.mean_c, length)
        squares = np.square(self.sd_c)
        least = figure("outdoors", "spread_least_share")
        season = year_curve.monthly_means(mean**2) - np.square(self.mean_c)
        spread = np.sqrt(np.maximum(squares - season, squares * least**2))
        inner = np.asarray(self.shape)
        beyond = _FAR - np.abs(_INNER[[0, -1]])
        knots = np.column_stack([inner[:, 0] - beyond[0], inner, inner[:, -1] + beyond[1]])
        columns = (mean, year_curve.between(spread, length), year_curve.between(knots, length))
        return np.column_stack(columns)


def normal_above(score: Array) -> Array:
    """Return the chance that a normal score is above each of these."""
    return np.asarray([math.erfc(each / math.sqrt(2)) / 2 for each in score.flat]).reshape(score.shape)


def _bend(at: Array, start: NDArray[np.float64], end: NDArray[np.float64]) -> Array:
    """Return straight lines through the knots (start, end), each row of knots its own; the end pieces go on."""
    left = np.clip((start <= at[..., None]).sum(axis=-1) - 1, 0, start.shape[-1] - 2)[..., None]

    def of(knots: NDArray[np.float64], step: int) -> Array:
        return np.take_along_axis(knots, left + step, axis=-1)[..., 0]

    share = (at - of(start, 0)) / (of(start, 1) - of(start, 0))
    return of(end, 0) + share * (of(end, 1) - of(end, 0))
