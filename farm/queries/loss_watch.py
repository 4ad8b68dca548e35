"""Losses out of the ordinary, from a batch's ledger."""

from __future__ import annotations

from datetime import date, timedelta

from farm.husbandry.advice.alarms import Alarm, alarms
from farm.husbandry.advice.losses import chart
from farm.models import Batch
from farm.models.count_entry import DEATHS, GAINS
from farm.queries import programmes, tally
from farm.trade.general import figure


def lately(batch: Batch, today: date) -> tuple[Alarm, ...]:
    """Return the alarms about a batch's losses of the last days (`losses.alarm_shown_days`), by day.

    Costs nothing where no bird was lost lately: an alarm is always of a day with a loss.
    """
    lines = [line for line in tally.standing(list(batch.count_entries.all())) if line.day <= today]
    since = today - timedelta(days=int(figure("losses", "alarm_shown_days")) - 1)
    if not any(line.kind in DEATHS and line.day >= since for line in lines):
        return ()
    first = min(line.day for line in lines if line.kind in GAINS)
    days = (today - first).days + 1
    base, lost = [0] * days, [0] * days
    for line in lines:
        at = max((line.day - first).days, 0)
        if line.kind in DEATHS:
            lost[at] += abs(line.birds)
            continue
        for later in range(at, days):
            base[later] += line.birds
    watched = int(figure("losses", "watched_days"))
    length = -(-days // watched) * watched
    found = alarms(
        chart(programmes.of(batch), (first - batch.hatch_day).days, base + [base[-1]] * (length - days)), lost
    )
    return tuple(one for one in found if batch.hatch_day + timedelta(days=one.age_days) >= since)
