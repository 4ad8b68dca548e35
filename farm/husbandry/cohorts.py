"""Losses of birds that were not all at risk for the same time: some came later, some left early."""

from __future__ import annotations

from collections.abc import Sequence

from farm.husbandry import binomial
from farm.husbandry.odds import together
from farm.husbandry.survival import FALSE_ALARMS


def loss_limits(
    cohorts: Sequence[tuple[int, float]], false_alarms: float = FALSE_ALARMS
) -> tuple[int, float, int]:
    """Return (low, expected, high) losses of all cohorts together.

    cohorts: (birds, chance that one is lost while it is at risk). Fewer than `low` or more than `high` losses happen
    by chance at most once in 1 / false_alarms batches, half each way. With one cohort these are
    `survival.control_limits`.
    """
    chances = together(binomial.pmf(birds, min(max(lost, 0.0), 1.0)) for birds, lost in cohorts)
    expected = float(sum(birds * lost for birds, lost in cohorts))
    tail = false_alarms / 2
    return binomial.quantile_of(chances, tail), expected, binomial.quantile_of(chances, 1 - tail)
