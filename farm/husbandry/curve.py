"""From knots to any day: steps, straight lines, and a smooth law that never overshoots.

Before the first knot the first value is held, after the last knot the last value. The smooth law is the
piecewise cubic Hermite of Fritsch and Butland: it passes through every knot, rises where the knots rise,
falls where they fall, and stays between its two neighbours.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.trade.programme import CURVES, Knot, Programme

Array = NDArray[np.float64]


def value(knots: Sequence[Knot], age_days: ArrayLike, law: str) -> Array:
    """Return the value of the knots at each age, in the shape of `age_days`.

    knots: by rising day. law: "step" (from its day on), "linear" or "smooth". Raises ValueError for any other
    law or for no knots.
    """
    ages = np.asarray(age_days, dtype=np.float64)
    days, values, slopes = _prepared(tuple(knots), law)
    if law == "step":
        return values[np.clip(np.searchsorted(days, ages, side="right") - 1, 0, None)]
    if law == "linear" or len(days) < 3:
        return np.asarray(np.interp(ages, days, values), dtype=np.float64)
    return _hermite(days, values, slopes, np.clip(ages, days[0], days[-1]))


def of(programme: Programme, name: str, age_days: ArrayLike) -> Array:
    """Return a named curve of the programme at each age, by the law that curve is read by."""
    return value(programme.curves[name], age_days, CURVES[name][1])


@lru_cache(maxsize=1024)
def _prepared(knots: tuple[Knot, ...], law: str) -> tuple[Array, Array, Array]:
    if law not in ("step", "linear", "smooth"):
        raise ValueError(f"no such law: {law}")
    if not knots:
        raise ValueError("a curve needs at least one knot")
    days = np.array([knot.day for knot in knots], dtype=np.float64)
    values = np.array([knot.value for knot in knots], dtype=np.float64)
    return days, values, _slopes(days, values) if law == "smooth" and len(days) > 2 else np.zeros_like(values)


def _slopes(days: Array, values: Array) -> Array:
    """Return the slope at each knot: a weighted harmonic mean of its two secants, 0 where they turn."""
    width = np.diff(days)
    secant = np.diff(values) / width
    slopes = np.zeros_like(values)
    before, after = secant[:-1], secant[1:]
    same_way = before * after > 0
    weight_before, weight_after = 2 * width[1:] + width[:-1], width[1:] + 2 * width[:-1]
    with np.errstate(over="ignore"):  # a secant next to nothing: its mean is then endless and the slope 0
        mean = np.divide(weight_before, before, out=np.zeros_like(before), where=same_way)
        mean += np.divide(weight_after, after, out=np.zeros_like(before), where=same_way)
    inner = np.divide(weight_before + weight_after, mean, out=np.zeros_like(before), where=same_way)
    slopes[1:-1] = inner
    slopes[0] = _end_slope(width[0], width[1], secant[0], secant[1])
    slopes[-1] = _end_slope(width[-1], width[-2], secant[-1], secant[-2])
    return slopes


def _end_slope(width: float, next_width: float, secant: float, next_secant: float) -> float:
    """Return a three-point slope at an end, held back where it would turn the curve."""
    slope = ((2 * width + next_width) * secant - width * next_secant) / (width + next_width)
    if np.sign(slope) != np.sign(secant):
        return 0.0
    if np.sign(secant) != np.sign(next_secant) and abs(slope) > 3 * abs(secant):
        return 3 * secant
    return slope


def _hermite(days: Array, values: Array, slopes: Array, ages: Array) -> Array:
    left = np.clip(np.searchsorted(days, ages, side="right") - 1, 0, len(days) - 2)
    width = days[left + 1] - days[left]
    part = (ages - days[left]) / width
    rise = values[left + 1] - values[left]
    start, end = slopes[left] * width, slopes[left + 1] * width
    result = values[left] + part * (
        start + part * ((3 * rise - 2 * start - end) + part * (start + end - 2 * rise))
    )
    low, high = np.minimum(values[left], values[left + 1]), np.maximum(values[left], values[left + 1])
    # rounding alone can step a hair outside the neighbours
    return np.clip(result, low, high)
