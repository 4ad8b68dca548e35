"""From twelve monthly values to a value for each day of the year, without a step where the year begins anew.

Curves are made for a common year and for a leap year apart, so that both keep the months' means.
"""

from __future__ import annotations

import calendar
from collections.abc import Sequence
from datetime import date
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
MONTHS = 12
COMMON, LEAP = 365, 366


def smooth(months: ArrayLike, length: int) -> Array:
    """Return a smooth curve over a year of `length` days, each of its months having exactly the given mean.

    A constant and six harmonics: as many as twelve means can fix. length: COMMON or LEAP.
    """
    return np.asarray(_smoother(length) @ np.asarray(months, dtype=np.float64), dtype=np.float64)


def between(months: ArrayLike, length: int) -> Array:
    """Return straight lines from the middle of each month to the next, along the first axis of `months`.

    Never outside the two neighbours, so what cannot be negative stays so and what rises along another axis still rises.
    """
    return np.asarray(_lines(length) @ np.asarray(months, dtype=np.float64), dtype=np.float64)


def month_of(length: int) -> NDArray[np.int64]:
    """Return the month, 0 to 11, of each day of a year of `length` days. Raises ValueError for another length."""
    if length not in (COMMON, LEAP):
        raise ValueError(f"a year has {COMMON} or {LEAP} days")
    year = 2000 if length == LEAP else 2001
    days = [calendar.monthrange(year, month + 1)[1] for month in range(MONTHS)]
    return np.repeat(np.arange(MONTHS), days)


def monthly_means(curve: Array) -> Array:
    """Return the mean of each month of a year's curve."""
    month = month_of(len(curve))
    return np.asarray(np.bincount(month, curve) / np.bincount(month), dtype=np.float64)


def pick(common: Array, leap: Array, days: Sequence[date]) -> Array:
    """Return for each date the row of its own kind of year: common (365 rows) or leap (366)."""
    number = np.array([(day - day.replace(month=1, day=1)).days for day in days], dtype=np.int64)
    is_leap = np.array([calendar.isleap(day.year) for day in days], dtype=np.bool_)
    kind = is_leap.reshape((-1,) + (1,) * (common.ndim - 1))
    return np.where(kind, leap[number], common[np.minimum(number, COMMON - 1)])


@cache
def _smoother(length: int) -> Array:
    """Return the matrix (length, 12) from monthly means to days."""
    turn = 2 * np.pi * (np.arange(length) + 0.5) / length
    waves = [wave(k * turn) for k in range(1, 6) for wave in (np.cos, np.sin)]
    # Of the sixth wave only the part that peaks in the middle of months is seen by their means.
    basis = np.column_stack([np.ones(length), *waves, np.sin(6 * turn)])
    seen = np.column_stack([monthly_means(column) for column in basis.T])
    return np.asarray(np.linalg.solve(seen.T, basis.T).T, dtype=np.float64)


@cache
def _lines(length: int) -> Array:
    """Return the matrix (length, 12) of weights: each row has two neighbours' shares, which add up to 1."""
    days = np.bincount(month_of(length))
    middle = np.cumsum(days) - days / 2
    ends = np.concatenate(([middle[-1] - length], middle, [middle[0] + length]))
    place = np.arange(length) + 0.5
    left = np.searchsorted(ends, place, side="right") - 1
    share = (place - ends[left]) / (ends[left + 1] - ends[left])
    weights = np.zeros((length, MONTHS))
    row = np.arange(length)
    weights[row, (left - 1) % MONTHS] += 1 - share
    weights[row, left % MONTHS] += share
    return weights
