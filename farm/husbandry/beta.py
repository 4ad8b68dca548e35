"""The beta law of a chance: how much of it lies below x, and where its quantiles are."""

from __future__ import annotations

import math

#: Quantiles are found to within this.
WITHIN = 1e-12
_TINY = 1e-300


def cumulative(a: float, b: float, x: float) -> float:
    """Return P(chance <= x) under Beta(a, b): the regularised incomplete beta function. a, b above 0."""
    if x <= 0 or x >= 1:
        return float(x >= 1)
    front = math.exp(a * math.log(x) + b * math.log1p(-x) - _log_beta(a, b))
    if x < (a + 1) / (a + b + 2):  # the fraction converges quickly on this side only
        return min(front * _fraction(a, b, x) / a, 1.0)
    return max(1 - front * _fraction(b, a, 1 - x) / b, 0.0)


def quantile(a: float, b: float, q: float) -> float:
    """Return the x with P(chance <= x) = q under Beta(a, b). Raises ValueError for q outside 0..1.

    Newton's steps inside a span known to hold x. Each step goes a hair too far, so that the span closes from both
    sides; every third is the span's middle, so that no slope can stall it.
    """
    if not 0 <= q <= 1:
        raise ValueError("q must be within 0 to 1")
    if q in (0.0, 1.0):
        return q
    low, high, x, turn = 0.0, 1.0, a / (a + b), 0
    while high - low > WITHIN:
        if not low < x < high or turn % 3 == 2:
            x = (low + high) / 2
        short = q - cumulative(a, b, x)
        low, high = (x, high) if short > 0 else (low, x)
        slope = math.exp((a - 1) * math.log(x) + (b - 1) * math.log1p(-x) - _log_beta(a, b))
        x += short / max(slope, _TINY) + math.copysign(WITHIN / 3, short)
        turn += 1
    return (low + high) / 2


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


def _fraction(a: float, b: float, x: float) -> float:
    """Return the continued fraction of the incomplete beta function (DLMF 8.17.22), by Lentz's method."""
    c, d = 1.0, 1 / _away(1 - (a + b) * x / (a + 1))
    value, m, change = d, 1, 0.0
    while abs(change - 1) > 1e-15:
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        change = 1.0
        for term in (even, odd):
            d, c = 1 / _away(1 + term * d), _away(1 + term / c)
            change *= c * d
        value, m = value * change, m + 1
    return value


def _away(x: float) -> float:
    """Return x, or a number just off zero, which may be divided by."""
    return x if abs(x) > _TINY else _TINY
