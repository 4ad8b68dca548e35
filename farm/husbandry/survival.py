"""Losses: how many birds of a batch to expect alive, how sure that is, and when losses are out of the ordinary."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import binomial, curve
from farm.trade.general import figure
from farm.trade.programme import CURVES, Programme

DAYS_A_MONTH = 365.25 / 12
#: How often the control limits may cry wolf: 1 batch in 100 at any one day, half of them each way.
FALSE_ALARMS = 0.01


def surviving_share(programme: Programme, age_days: ArrayLike) -> NDArray[np.float64]:
    """Return the share of a batch expected alive at each age.

    Linear between the knots of lost_share; after the last one a further 0.5 % of the hatch is lost a month,
    until the highest loss a programme may state (60 %).
    """
    ages = np.asarray(age_days, dtype=np.float64)
    later = np.maximum(ages - programme.curves["lost_share"][-1].day, 0) / DAYS_A_MONTH
    lost = curve.of(programme, "lost_share", ages) + later * figure("losses", "lost_a_month_later")
    return 1 - np.minimum(lost, CURVES["lost_share"][3])


def chance(programme: Programme, from_age: int, to_age: int) -> float:
    """Return the chance that a bird alive at `from_age` is alive at `to_age`. Raises ValueError for a backward span."""
    if to_age < from_age:
        raise ValueError("to_age must not be before from_age")
    start, end = surviving_share(programme, [from_age, to_age])
    return float(end / start)


def expected(n: int, programme: Programme, from_age: int, to_age: int) -> float:
    """Return the birds expected alive at `to_age` of n alive at `from_age`."""
    return n * chance(programme, from_age, to_age)


def quantile(
    n: int, programme: Programme, from_age: int, to_age: int, q: float, prior_birds: float | None = None
) -> int:
    """Return the smallest count k with P(alive at `to_age` <= k) >= q, of n alive at `from_age`.

    Binomial at the programme's losses; with `prior_birds`, beta-binomial, the programme being worth that many
    birds of evidence (the project's default is 50).
    """
    p = chance(programme, from_age, to_age)
    if prior_birds is None or p >= 1:
        return binomial.quantile(n, p, q)
    return binomial.quantile_of(binomial.beta_pmf(n, prior_birds * p, prior_birds * (1 - p)), q)


def control_limits(
    n: int, programme: Programme, age_days: ArrayLike, false_alarms: float = FALSE_ALARMS
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return (low, high): losses so far that are still ordinary at each age, of n birds hatched or received at day 0.

    Fewer than `low` or more than `high` losses happen by chance at most once in 1 / false_alarms batches,
    half each way. Both arrays have the shape of `age_days` and hold whole numbers.
    """
    lost = 1 - surviving_share(programme, age_days)
    unique, where = np.unique(np.atleast_1d(lost), return_inverse=True)
    limits = np.array([_limits(n, float(p), false_alarms / 2) for p in unique]).reshape(-1, 2)
    low, high = limits[where, 0], limits[where, 1]
    return low.reshape(lost.shape), high.reshape(lost.shape)


def _limits(n: int, p: float, tail: float) -> tuple[float, float]:
    chances = binomial.pmf(n, p)
    return float(binomial.quantile_of(chances, tail)), float(binomial.quantile_of(chances, 1 - tail))
