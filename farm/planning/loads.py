"""What a part of a batch asks of its housing by age, in whole dm², mm and birds; and the days of a batch's life.

A part's load is rounded up twice, both times to the safe side: survivors to whole birds, taken at the start of each
week of age, then the sum of their needs to whole dm² or mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from farm.planning.problem import Batch, Problem
from farm.planning.window import Window

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

MM2_PER_DM2, UM_PER_MM, DAYS_PER_WEEK = 10_000, 1000, 7


@dataclass(frozen=True, slots=True, eq=False)
class Load:
    """What one part asks for at each of some ages: floor dm², edges mm, birds alive, birds that need heat."""

    area_dm2: Ints
    feeder_mm: Ints
    drinker_mm: Ints
    birds: Ints
    cold: Ints


def load(batch: Batch, birds: int, ages: Ints) -> Load:
    """Return the load of a part of `birds` at each age (days since hatch, none below 0), in the shape of `ages`."""
    alive = np.full(ages.shape, birds, dtype=np.int64)
    if batch.survivors:
        weeks = np.minimum(ages // DAYS_PER_WEEK, len(batch.survivors) - 1)
        kept = np.array(batch.survivors, dtype=np.int64)[weeks]
        alive = _up(birds * kept, batch.birds)
    at = np.minimum(ages, len(batch.demand.area_mm2) - 1)

    def asked(each: tuple[int, ...], unit: int) -> Ints:
        if not any(each):
            return np.zeros(ages.shape, dtype=np.int64)
        return _up(alive * np.array(each, dtype=np.int64)[at], unit)

    demand = batch.demand
    return Load(
        area_dm2=asked(demand.area_mm2, MM2_PER_DM2),
        feeder_mm=asked(demand.feeder_um, UM_PER_MM),
        drinker_mm=asked(demand.drinker_um, UM_PER_MM),
        birds=alive,
        cold=alive * np.array(demand.heat, dtype=np.int64)[at],
    )


def _up(amount: Ints, unit: int) -> Ints:
    """Divide and round up."""
    return -(-amount // unit)


def leave_day(batch: Batch, arrival: date) -> date | None:
    """Return the first day without the batch if it arrives on `arrival`; None when it stays."""
    by_age = None
    if batch.leave_age_days is not None:
        by_age = arrival + timedelta(days=batch.leave_age_days - batch.age_at_arrival_days)
    return min((day for day in (by_age, batch.leaves) if day is not None), default=None)


def span(problem: Problem) -> Window:
    """Return the days a plan is made for: on beyond the window to the last leaving, so that nothing hides there.

    Batches that stay are planned to the same day, and at least for the day they arrive.
    """
    last = [(batch, batch.arrival.last()) for batch in problem.batches]
    ends = [leave_day(batch, arrival) or arrival + timedelta(days=1) for batch, arrival in last]
    return Window(problem.start, (max([problem.window.end, *ends]) - problem.start).days)
