"""How many birds come through: laws of whole-bird counts over stages such as fertile, hatched, arrived, female, alive.

A law is an array of P(exactly k) for k = 0..len - 1. Nothing is simulated: every law is summed over every count, and
each of its chances is right to 1e-12 (cut-off tails and rounding together) for lots of up to 10,000 birds or eggs.

Known chances multiply into one binomial. A chance that rests on so many birds of evidence follows a beta law and is
the same for the whole lot, so the counts spread wider: the beta-binomial. Stages may come in any order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import binomial
from farm.husbandry.first_enough import first_enough

Law = NDArray[np.float64]
#: A beta law as (a, b), or (p, None) where the chance p is known.
_Sieve = tuple[float, float | None]
#: What may be cut off each end of a law before the next stage; the whole is set back to 1.
_TAIL = 1e-14
#: A chance short of the wanted confidence by no more than this is short by rounding alone.
ROUNDING = 1e-12


@dataclass(frozen=True, slots=True)
class Stage:
    """One thing that each bird or egg passes or not.

    chance: 0 to 1. worth: the birds of evidence the chance rests on (a beta law with a + b = worth and this mean);
    None: the chance is known. Raises ValueError for a chance outside 0..1 or a worth that is not above 0.
    """

    name: str
    chance: float
    worth: float | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.chance <= 1:
            raise ValueError("chance must be within 0 to 1")
        if self.worth is not None and not 0 < self.worth < math.inf:
            raise ValueError("worth must be above 0")


def birds(n: int, stages: Sequence[Stage]) -> Law:
    """Return P(exactly k of n come through all stages) for k = 0..n, read-only.

    Raises ValueError for n outside 0..binomial.MOST_BIRDS.
    """
    return _birds(n, _sieves(stages))


def after(start: ArrayLike, stages: Sequence[Stage]) -> Law:
    """Return the law of those that come through all stages where the number that begin follows `start`.

    Same length as `start`. Raises ValueError where `start` is no law.
    """
    law = _law(start)
    for sieve in _sieves(stages):
        law = _sifted(law, sieve)
    return law


def together(laws: Iterable[ArrayLike]) -> Law:
    """Return the law of the sum of independent counts; of none, that of surely 0. Raises ValueError for no law."""
    total = np.ones(1)
    for law in laws:
        total = np.convolve(total, _law(law))
    return total / total.sum()


def mean(law: ArrayLike) -> float:
    """Return the birds expected."""
    chances = np.asarray(law, dtype=np.float64)
    return float(chances @ np.arange(len(chances)))


def chance_of(law: ArrayLike, wanted: int) -> float:
    """Return P(at least `wanted`)."""
    return 1.0 if wanted <= 0 else min(1.0, float(np.asarray(law, dtype=np.float64)[wanted:].sum()))


def band(law: ArrayLike, share: float = 0.8) -> tuple[int, int]:
    """Return (low, high): fewer than low and more than high each happen with at most half of what `share` leaves.

    Raises ValueError for a share outside 0..1.
    """
    if not 0 <= share <= 1:
        raise ValueError("share must be within 0 to 1")
    chances = _law(law)
    return binomial.quantile_of(chances, (1 - share) / 2), binomial.quantile_of(chances, (1 + share) / 2)


def smallest_start(
    wanted: int,
    stages: Sequence[Stage],
    confidence: float,
    *,
    besides: ArrayLike | None = None,
    most: int = 10_000,
) -> int | None:
    """Return the fewest to begin with so that P(at least `wanted` come through) >= confidence.

    besides: law of birds that come from elsewhere anyway, independent of these. None where `most` are not enough.
    One more at the start never lowers the chance, so halving the span finds the fewest. A chance that misses the
    confidence by less than ROUNDING counts. Raises ValueError for a confidence outside 0 to below 1, most < 0.
    """
    if not 0 <= confidence < 1 or most < 0:
        raise ValueError("confidence must be from 0 to below 1, and most not below 0")
    others = np.ones(1) if besides is None else _law(besides)
    sieves = _sieves(stages)

    def enough(n: int) -> bool:
        return _chance_with(others, _birds(n, sieves), wanted) >= confidence - ROUNDING

    if wanted <= 0 or enough(0):
        return 0
    if any(sieve == (0.0, None) for sieve in sieves):
        return None
    return first_enough(enough, _guess(wanted - mean(others), sieves, confidence, most), most)


def _chance_with(others: Law, law: Law, wanted: int) -> float:
    """Return P(others + law >= wanted), without making the law of the sum."""
    at_least = np.cumsum(law[::-1])[::-1]
    missing = np.maximum(wanted - np.arange(len(others)), 0)
    within = missing < len(law)
    return float(others[within] @ at_least[missing[within]])


def _guess(needed: float, sieves: Sequence[_Sieve], confidence: float, most: int) -> int:
    """Return about how many to begin with, by mean and spread of the count; only how soon the search ends hangs on it.

    Of n, m n come through in the mean, with variance (m - s) n + (s - m m) n n: s is the chance that two of them
    do. Solved for the n that is `needed` so many standard deviations below its mean.
    """
    once = math.prod(_mean_square(sieve)[0] for sieve in sieves)
    twice = math.prod(_mean_square(sieve)[1] for sieve in sieves)
    z2 = max(NormalDist().inv_cdf(confidence), 0.0) ** 2
    a, b = once**2 - z2 * (twice - once**2), 2 * max(needed, 1.0) * once + z2 * (once - twice)
    guess = (
        2 * needed / max(once, 1e-12)
        if a <= 0
        else (b + math.sqrt(max(b**2 - 4 * a * needed**2, 0))) / (2 * a)
    )
    return round(min(max(guess, 1.0), float(most)))


def _mean_square(sieve: _Sieve) -> tuple[float, float]:
    a, b = sieve
    if b is None:
        return a, a * a
    return a / (a + b), a / (a + b) * (a + 1) / (a + b + 1)


def _sieves(stages: Sequence[Stage]) -> tuple[_Sieve, ...]:
    """Return the stages as at most one known chance, then the beta laws, narrowest first. Order changes no law."""
    known, learned = 1.0, []
    for stage in stages:
        a = (stage.worth or 0.0) * stage.chance
        b = (stage.worth or 0.0) * (1 - stage.chance)
        if a > 0 and b > 0:
            learned.append((a, b))
        else:
            known *= stage.chance
    first: tuple[_Sieve, ...] = () if known == 1 else ((known, None),)
    return (*first, *sorted(learned, key=lambda law: (-sum(law), law)))


@lru_cache(maxsize=256)
def _birds(n: int, sieves: tuple[_Sieve, ...]) -> Law:
    (a, b), *rest = sieves or ((1.0, None),)
    law = binomial.pmf(n, a) if b is None else binomial.beta_pmf(n, a, b)
    for sieve in rest:
        law = _sifted(law, sieve)
    law.setflags(write=False)
    return law


def _sifted(law: Law, sieve: _Sieve) -> Law:
    """Return the law of those that one stage lets through: P(k) = sum over j of P(j) P(k of j)."""
    a, b = sieve
    if b is None and a in (0.0, 1.0):
        return law.copy() if a else np.eye(1, len(law))[0]
    through = np.zeros(len(law))
    first, last = _support(law)
    while first <= last:
        end = min(last, first + 40 + int(40 * math.sqrt(first)))
        through[: end + 1] += _sifted_block(law[first : end + 1], first, sieve)
        first = end + 1
    return through / through.sum()


def _sifted_block(chances: Law, first: int, sieve: _Sieve) -> Law:
    """Return the part of `_sifted` that comes from j = first .. first + len(chances) - 1, for k up to that end.

    P(k of j) = passed(k) failed(j - k) / both(j), with Poisson weights where the chance is known and negative
    binomial ones under a beta law. Their middle is that of the block, and the block is short enough (some 20
    standard deviations each way) that nothing which counts is lost for smallness. The sum over j is a convolution.
    """
    if not chances.any():
        return np.zeros(first + len(chances))
    a, b = sieve
    last = first + len(chances) - 1
    middle, k = (first + last + 1) / 2, np.arange(last)
    if b is None:
        passed, failed, both = (middle * share / (k + 1) for share in (a, 1 - a, 1.0))
    else:
        step = middle / (middle + a + b)
        passed, failed, both = ((size + k) / (k + 1) * step for size in (a, b, a + b))
    shares = chances / binomial.outward(both)[first:]
    part = binomial.outward(passed) * np.convolve(shares, binomial.outward(failed)[::-1])[last - first :]
    return part * (chances.sum() / part.sum())


def _support(law: Law) -> tuple[int, int]:
    """Return the first and last count that matter: at most _TAIL of the law lies outside on either side."""
    below, above = np.cumsum(law), np.cumsum(law[::-1])
    return int(np.argmax(below > _TAIL)), len(law) - 1 - int(np.argmax(above > _TAIL))


def _law(chances: ArrayLike) -> Law:
    law = np.asarray(chances, dtype=np.float64)
    if law.ndim != 1 or not len(law) or not law.min() >= 0 or abs(law.sum() - 1) > 1e-9:
        raise ValueError("a law is a row of chances that add to 1")
    return law
