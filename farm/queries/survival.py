"""How a batch's losses stand against what its programme expects."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from farm.husbandry import cohorts, survival
from farm.models import Batch, CountEntry
from farm.models.count_entry import DEATHS, GAINS
from farm.queries import programmes, tally
from farm.trade.programme import Programme


@dataclass(frozen=True, slots=True)
class Row:
    """A batch at the end of a day: birds here and died so far, and the losses expected with their limits."""

    day: date
    age_days: int
    here: int
    died: int
    expected: float
    low: int
    high: int

    @property
    def verdict(self) -> str:
        """Return "more" or "fewer" losses than chance explains, else "usual"."""
        return "more" if self.died > self.high else "fewer" if self.died < self.low else "usual"


def share(entries: Sequence[CountEntry]) -> float | None:
    """Return the share of a batch's birds that did not die, sold ones counted as alive; None before any came."""
    found = tally.tally(entries)
    return None if not found.came else 1 - found.died / found.came


def by_week(batch: Batch, today: date) -> list[Row]:
    """Return a row for the end of each week of age since the first birds came, and one for today.

    None for birds that are only expected.
    """
    if batch.expected:
        return []
    entries = list(batch.count_entries.all())
    lines = [line for line in tally.standing(entries) if line.day <= today]
    came = [line.day for line in lines if line.kind in GAINS]
    if not came:
        return []
    days = [
        batch.hatch_day + timedelta(days=age)
        for age in range(7, (today - batch.hatch_day).days, 7)
        if batch.hatch_day + timedelta(days=age) > min(came)
    ]
    return [row(batch, lines, day) for day in [*days, today]]


def row(batch: Batch, lines: Sequence[CountEntry], day: date) -> Row:
    """Return the row of one day from the standing lines of the ledger."""
    there = [line for line in lines if line.day <= day]
    low, expected, high = cohorts.loss_limits(_at_risk(batch, there, day))
    found = tally.tally(there)
    return Row(
        day=day,
        age_days=(day - batch.hatch_day).days,
        here=found.here,
        died=found.died,
        expected=expected,
        low=low,
        high=high,
    )


def _at_risk(batch: Batch, lines: Sequence[CountEntry], day: date) -> list[tuple[int, float]]:
    """Return the cohorts of a ledger: birds with the chance that one was lost by `day`.

    Birds that left some day alive stand for the more that were at risk until then: n / chance of living so long. They
    are taken from those that came first.
    """
    programme = programmes.of(batch)
    gains = [[(line.day - batch.hatch_day).days, line.birds] for line in lines if line.kind in GAINS]
    gains.sort()
    found: list[tuple[int, float]] = []
    for line in lines:
        if line.kind not in GAINS | DEATHS:
            found += _leaving(gains, -line.birds, (line.day - batch.hatch_day).days, programme)
    age = (day - batch.hatch_day).days
    return found + [(birds, _lost(programme, since, age)) for since, birds in gains if birds]


def _leaving(gains: list[list[int]], birds: int, age: int, programme: Programme) -> list[tuple[int, float]]:
    """Take the cohort that `birds` leaving at `age` stand for out of `gains`."""
    found = []
    for gain in gains:
        lost = _lost(programme, gain[0], age)
        cohort = min(gain[1], round(birds / (1 - lost)))
        if cohort:
            found.append((cohort, lost))
            gain[1] -= cohort
            birds -= min(birds, round(cohort * (1 - lost)))
        if birds <= 0:
            break
    return found


def _lost(programme: Programme, from_age: int, to_age: int) -> float:
    start = max(from_age, 0)
    return 1 - survival.chance(programme, start, max(to_age, start))
