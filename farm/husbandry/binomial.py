"""Chances in whole birds: binomial and beta-binomial, summed exactly over every count.

`n` birds each survive (hatch, are female …) with chance `p`. Where `p` itself is learned, a beta law stands
for it and the counts spread wider: the beta-binomial.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

#: The largest batch the sums are asked for; beyond it the wait, not the arithmetic, would be the trouble.
MOST_BIRDS = 100_000


def pmf(n: int, p: float) -> NDArray[np.float64]:
    """Return P(exactly k) for k = 0..n. Raises ValueError for n outside 0..MOST_BIRDS or p outside 0..1."""
    _check(n, p)
    if p in (0.0, 1.0):
        return (np.arange(n + 1) == round(n * p)).astype(np.float64)
    k = np.arange(n + 1)
    return _normed(_log_choose(n) + k * math.log(p) + (n - k) * math.log1p(-p))


def beta_pmf(n: int, a: float, b: float) -> NDArray[np.float64]:
    """Return P(exactly k) for k = 0..n where the chance itself follows Beta(a, b).

    Raises ValueError for n outside 0..MOST_BIRDS, or a or b not above 0.
    """
    _check(n, 0.5)
    if not (a > 0 and b > 0):
        raise ValueError("a and b must be above 0")
    k = np.arange(n + 1)
    gammas = np.array([math.lgamma(a + i) + math.lgamma(b + n - i) for i in k.tolist()])
    return _normed(_log_choose(n) + gammas)


def quantile_of(chances: NDArray[np.float64], q: float) -> int:
    """Return the smallest k with P(at most k) >= q, given P(exactly k) for k = 0..n. q within 0..1."""
    if not 0 <= q <= 1:
        raise ValueError("q must be within 0 to 1")
    reached = np.cumsum(chances) >= q - 1e-13  # the sums carry rounding; q = cdf(k) must give k
    return int(np.argmax(reached)) if reached.any() else len(chances) - 1


def quantile(n: int, p: float, q: float) -> int:
    """Return the smallest k with P(Binomial(n, p) <= k) >= q."""
    return quantile_of(pmf(n, p), q)


def at_least(n: int, p: float, wanted: int) -> float:
    """Return P(Binomial(n, p) >= wanted)."""
    return float(pmf(n, p)[max(wanted, 0) :].sum())


def smallest_n(wanted: int, p: float, confidence: float) -> int:
    """Return the smallest n with P(Binomial(n, p) >= wanted) >= confidence: how many to order or set.

    Raises ValueError where p is 0, the confidence is not below 1, or more than MOST_BIRDS would be needed.
    """
    if not (0 < p <= 1 and 0 <= confidence < 1):
        raise ValueError("p must be above 0 and confidence below 1")
    low, high = max(wanted, 0), max(wanted, 1)
    while at_least(high, p, wanted) < confidence:
        low, high = high + 1, 2 * high
    while low < high:
        middle = (low + high) // 2
        if at_least(middle, p, wanted) >= confidence:
            high = middle
        else:
            low = middle + 1
    return low


@lru_cache(maxsize=256)
def _log_choose(n: int) -> NDArray[np.float64]:
    logs = np.array([math.lgamma(k + 1) for k in range(n + 1)])
    return logs[n] - logs - logs[::-1]


def _normed(logs: NDArray[np.float64]) -> NDArray[np.float64]:
    weights = np.exp(logs - logs.max())
    return weights / weights.sum()


def _check(n: int, p: float) -> None:
    if not 0 <= n <= MOST_BIRDS:
        raise ValueError(f"n must be within 0 to {MOST_BIRDS}")
    if not 0 <= p <= 1:
        raise ValueError("p must be within 0 to 1")
