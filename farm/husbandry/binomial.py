"""Chances in whole birds: binomial and beta-binomial, summed exactly over every count.

`n` birds each survive (hatch, are female …) with chance `p`. Where `p` itself is learned, a beta law stands
for it and the counts spread wider: the beta-binomial.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

#: The largest batch the sums are asked for; beyond it the wait, not the arithmetic, would be the trouble.
MOST_BIRDS = 100_000


def pmf(n: int, p: float) -> NDArray[np.float64]:
    """Return P(exactly k) for k = 0..n. Raises ValueError for n outside 0..MOST_BIRDS or p outside 0..1."""
    _check(n, p)
    if p in (0.0, 1.0):
        return (np.arange(n + 1) == round(n * p)).astype(np.float64)
    k = np.arange(n)
    return _normed(outward((n - k) / (k + 1) * (p / (1 - p))))


def beta_pmf(n: int, a: float, b: float) -> NDArray[np.float64]:
    """Return P(exactly k) for k = 0..n where the chance itself follows Beta(a, b).

    Raises ValueError for n outside 0..MOST_BIRDS, or a or b not above 0.
    """
    _check(n, 0.5)
    if not (a > 0 and b > 0):
        raise ValueError("a and b must be above 0")
    k = np.arange(n)
    return _normed(outward((n - k) / (k + 1) * ((a + k) / (b + (n - k - 1)))))


def outward(ratios: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return weights whose neighbours stand in these ratios (next / this), the largest weight being 1.

    Multiplied out from the largest weight to both ends, so that rounding is least where the birds are: relative
    to the largest, a weight within m places of it is right to about m * 2e-16.
    """
    with np.errstate(divide="ignore"):  # a ratio too small for a float is 0, and no weight is left beyond it
        heights = np.cumsum(np.log(ratios))
    top = int(np.argmax(np.concatenate(([0.0], heights))))
    below = np.cumprod(1 / ratios[:top][::-1])[::-1]
    return np.concatenate((below, [1.0], np.cumprod(ratios[top:])))


def quantile_of(chances: NDArray[np.float64], q: float) -> int:
    """Return the smallest k with P(at most k) >= q, given P(exactly k) for k = 0..n. q within 0..1."""
    if not 0 <= q <= 1:
        raise ValueError("q must be within 0 to 1")
    reached = np.cumsum(chances) >= q - 1e-13  # the sums carry rounding; q = cdf(k) must give k
    return int(np.argmax(reached)) if reached.any() else len(chances) - 1


def quantile(n: int, p: float, q: float) -> int:
    """Return the smallest k with P(Binomial(n, p) <= k) >= q."""
    return quantile_of(pmf(n, p), q)


def _normed(weights: NDArray[np.float64]) -> NDArray[np.float64]:
    return weights / weights.sum()


def _check(n: int, p: float) -> None:
    if not 0 <= n <= MOST_BIRDS:
        raise ValueError(f"n must be within 0 to {MOST_BIRDS}")
    if not 0 <= p <= 1:
        raise ValueError("p must be within 0 to 1")
