"""The losses of a batch against what its programme expects, drawn day by day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Batch
from farm.models.count_entry import GAINS
from farm.queries import heads, survival, tally
from farm.queries.survival import Row
from farm.web.batches.axis import Axes, round_up, stairs

_AHEAD_DAYS = 14  # drawn beyond today, so that the limits' way is seen; project default (judgement)


@dataclass(frozen=True, slots=True)
class Losses:
    """The drawing and its twin: a band between the limits, lines of the expected and the dead.

    now: today, or the day the last bird left. rows: a day a week up to it; coming: after it.
    """

    axes: Axes
    band: str
    expected: str
    died: str
    now: Row
    rows: tuple[Row, ...]
    coming: tuple[Row, ...]
    came: int


def draw(batch: Batch, today: date) -> Losses | None:
    """Return the losses of a batch with its ledger read along; None before any bird came."""
    lines = [line for line in tally.standing(list(batch.count_entries.all())) if line.day <= today]
    came = [line for line in lines if line.kind in GAINS]
    if not came:
        return None
    first = min(line.day for line in came)
    last = max(first, min(today, heads.gone_on(batch) or today))
    span = (last - first).days
    days = [
        survival.row(batch, lines, first + timedelta(days=offset)) for offset in range(span + 1 + _AHEAD_DAYS)
    ]
    axes = Axes(days[-1].age_days + 1, round_up(max(max(day.high, day.died) for day in days)))
    upper = list(stairs((day.age_days, day.high) for day in days))
    lower = list(stairs((day.age_days, day.low) for day in days))
    return Losses(
        axes=axes,
        band=axes.line([*upper, *reversed(lower)]),
        expected=axes.line((day.age_days, day.expected) for day in days),
        died=axes.line(stairs((day.age_days, day.died) for day in days[: span + 1])),
        now=days[span],
        rows=tuple(day for day in days[: span + 1] if day.age_days % 7 == 0 or day is days[span]),
        coming=tuple(day for day in days[span + 1 :] if day.age_days % 7 == 0),
        came=sum(line.birds for line in came),
    )
