"""What feed cost and will cost, by batch: the bags that were bought, eaten first in, first out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from farm.husbandry.feeding import cost, factor
from farm.husbandry.feeding.cost import Cost, Meal
from farm.models import Batch
from farm.queries import feed, feed_store
from farm.queries.feed import AHEAD_DAYS, Row, Sheet

#: Stands for nobody in the sharing of costs: what spoiled, or was missing when counted anew.
_NOBODY = 0
_MOST_DAYS = 400  # how far ahead a batch's leaving day is followed; project default (judgement)


@dataclass(frozen=True, slots=True)
class BatchCost:
    """A batch's feed. cost: in cents; since: from which day it is known; until: how far what is to come reaches.

    eaten_kg, coming_kg: of recorded feed. feeds: those it eats from today on, in store or missing.
    """

    cost: Cost
    since: date | None
    until: date
    eaten_kg: float
    coming_kg: float
    sheet: Sheet

    @property
    def known(self) -> bool:
        """Say whether any feed with a price was or will be eaten."""
        return bool(self.cost.to_date or self.cost.to_come)


def of(batch: Batch, today: date) -> BatchCost:
    """Return what a batch's feed costs until it leaves, or for eight weeks where nobody knows when it does."""
    until = today + timedelta(days=AHEAD_DAYS)
    if batch.leaves_on is not None and today < batch.leaves_on:
        until = min(batch.leaves_on, today + timedelta(days=_MOST_DAYS))
    sheet = feed.for_farm(batch.farm, today, max((until - today).days, 1))
    total, since, eaten, coming = Cost(), None, 0.0, 0.0
    for row in sheet.rows:
        kg = _eaten(row, sheet).get(batch.pk)
        if kg is None or not kg.any():
            continue
        total = _plus(total, _costs(row, sheet).get(batch.pk, Cost()))
        if kg[: sheet.now].any():
            first = sheet.demand.window.day(int(np.flatnonzero(kg)[0]))
            since = min(since or first, first)
        eaten, coming = eaten + float(kg[: sheet.now].sum()), coming + float(kg[sheet.now :].sum())
    return BatchCost(total, since, until, eaten, coming, sheet)


def _eaten(row: Row, sheet: Sheet) -> dict[int, np.ndarray]:
    """Return by batch the kg of a feed that go on each day, as its bags tell; past and to come."""
    window = sheet.demand.window
    times = factor.times_by_day(row.bags, row.factor, window.start, window.days)
    totals = sheet.demand.totals()
    found: dict[int, np.ndarray] = {}
    for key, kg in row.use.items():
        share = np.divide(kg, totals[key], out=np.zeros(window.days), where=totals[key] > 0)
        for number, parts in sheet.demand.by_batch.items():
            if key in parts:
                found[number] = found.get(number, np.zeros(window.days)) + parts[key] * share * times
    return found


def _costs(row: Row, sheet: Sheet) -> dict[int, Cost]:
    meals: list[Meal] = []
    for number, kg in _eaten(row, sheet).items():
        meals += cost.meals(number, kg, sheet.demand.window.start)
    meals += [Meal(day, _NOBODY, grams) for day, grams in feed_store.lost(row.entries)]
    return dict(cost.costs(feed_store.lots(row.entries), meals, sheet.today))


def _plus(one: Cost, other: Cost) -> Cost:
    return Cost(
        one.to_date + other.to_date,
        one.to_come + other.to_come,
        one.unpriced_g + other.unpriced_g,
        one.assumed_g + other.assumed_g,
    )
