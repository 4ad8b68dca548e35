"""Medians of two ways to the same result, taken in turns so that a busy machine slows both alike."""

from __future__ import annotations

from collections.abc import Callable
from statistics import median
from time import perf_counter


def seconds(call: Callable[[], object]) -> float:
    """Return the wall time of one call."""
    start = perf_counter()
    call()
    return perf_counter() - start


def medians(quick: Callable[[], object], slow: Callable[[], object], turns: int = 7) -> tuple[float, float]:
    """Return the median seconds of `quick` and of `slow`; in each turn `quick` runs five times."""
    quick()
    fast, plain = [], []
    for _ in range(turns):
        plain.append(seconds(slow))
        fast += [seconds(quick) for _ in range(5)]
    return median(fast), median(plain)
