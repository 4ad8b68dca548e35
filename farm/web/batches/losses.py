"""The losses of a batch against what its programme expects, day by day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from farm.husbandry import survival
from farm.models import Batch
from farm.models.count_entry import DEATHS, GAINS
from farm.queries import heads, programmes, tally
from farm.web.batches.axis import Axes, round_up, stairs

_AHEAD_DAYS = 14  # drawn beyond today, so that the limits' way is seen; project default (judgement)
LOW, ORDINARY, HIGH = "low", "ordinary", "high"


@dataclass(frozen=True, slots=True)
class Week:
    """One row of the table: losses so far at the end of a day, and the ordinary span of them."""

    age: int
    day: date
    lost: int | None
    expected: float
    low: int
    high: int

    @property
    def verdict(self) -> str:
        """Say where the losses stand: below, within or above the ordinary span; nothing of days to come."""
        if self.lost is None:
            return ""
        return LOW if self.lost < self.low else HIGH if self.lost > self.high else ORDINARY


@dataclass(frozen=True, slots=True)
class Losses:
    """The drawing and its twin. now: the row of today, or of the day the last bird left."""

    axes: Axes
    band: str
    expected: str
    lost: str
    rows: tuple[Week, ...]
    now: Week
    came: int
    left: int


def draw(batch: Batch, today: date) -> Losses | None:
    """Return the losses of a batch with its ledger read along; None before it arrives.

    Counted from the arrival on: a bird that died before that was never this farm's. Birds that left alive still count
    among those that came, so the span errs on the wide side once many have left.
    """
    if batch.arrived_on > today:
        return None
    last = min(today, heads.gone_on(batch) or today)
    first = (batch.arrived_on - batch.hatch_day).days
    ages = np.arange(first, (last - batch.hatch_day).days + _AHEAD_DAYS + 1)
    came, lost = _ledger(batch, ages)
    rows = _rows(batch, ages, came, lost, (last - batch.hatch_day).days)
    now = next(row for row in rows if row.day == last)
    axes = Axes(int(ages[-1]), round_up(max(max(row.high, row.lost or 0) for row in rows)))
    seen = [(row.age, row.lost) for row in rows if row.lost is not None]
    upper = list(stairs((row.age, row.high) for row in rows))
    lower = list(stairs((row.age, row.low) for row in rows))
    found = tally.tally(list(batch.count_entries.all()), today)
    return Losses(
        axes=axes,
        band=axes.line(_within(axes, [*upper, *reversed(lower)])),
        expected=axes.line((row.age, row.expected) for row in rows),
        lost=axes.line(_within(axes, stairs(seen))),
        rows=tuple(row for row in rows if row.age % 7 == 0 or row is now),
        now=now,
        came=found.came,
        left=found.left,
    )


def _ledger(batch: Batch, ages: np.ndarray) -> tuple[list[int], list[int]]:
    """Return the birds that came and that died up to the end of each day of age."""
    standing = tally.standing(list(batch.count_entries.all()))
    came, lost = [], []
    for age in ages:
        day = batch.hatch_day + timedelta(days=int(age))
        lines = [entry for entry in standing if entry.day <= day]
        came.append(sum(entry.birds for entry in lines if entry.kind in GAINS))
        lost.append(-sum(entry.birds for entry in lines if entry.kind in DEATHS))
    return came, lost


def _rows(batch: Batch, ages: np.ndarray, came: list[int], lost: list[int], last_age: int) -> list[Week]:
    programme, first = programmes.of(batch), int(ages[0])
    rows = []
    limits = {n: survival.control_limits(n, programme, ages, from_age=first) for n in set(came)}
    for index, age in enumerate(ages.tolist()):
        n = came[index]
        low, high = limits[n]
        rows.append(
            Week(
                age=age,
                day=batch.hatch_day + timedelta(days=age),
                lost=lost[index] if age <= last_age else None,
                expected=n - survival.expected(n, programme, first, age),
                low=int(low[index]),
                high=int(high[index]),
            )
        )
    return rows


def _within(axes: Axes, points: object) -> list[tuple[float, float]]:
    """Cut the half day that stairs stand out beyond the last column."""
    return [(min(age, axes.last_day), value) for age, value in points]  # type: ignore[attr-defined]
