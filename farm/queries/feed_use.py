"""What a farm's batches eat on each day, by batch and kind of feed: live ones and those that are expected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from farm.husbandry.feeding import usage
from farm.husbandry.feeding.usage import Eater
from farm.husbandry.outlook import Outlook
from farm.husbandry.survival import surviving_share
from farm.models import Batch, Farm
from farm.planning.window import Window
from farm.queries import programmes, weather
from farm.queries.feed_kinds import Key

Array = NDArray[np.float64]
_STORE_DAYS = 30  # over which a shed takes on the mean of the air; project default (judgement)


@dataclass(frozen=True, slots=True, eq=False)
class Demand:
    """What is eaten by the tables and the cold, kg a day, by batch number and kind of feed; waste is not in it.

    store_c: mean °C outside over the coming month, which a shed is like; None where the farm has no climate.
    """

    window: Window
    batches: Mapping[int, Batch]
    by_batch: Mapping[int, Mapping[Key, Array]]
    store_c: float | None

    def totals(self) -> dict[Key, Array]:
        """Return the kg a day of all batches by kind of feed."""
        found: dict[Key, Array] = {}
        for parts in self.by_batch.values():
            for key, kg in parts.items():
                found[key] = found.get(key, np.zeros(self.window.days)) + kg
        return found


def of(farm: Farm, window: Window, today: date) -> Demand:
    """Return the demand of a farm. Birds leave when their batch is said to; sales to come are not reckoned with."""
    outlook = weather.outlook(farm)
    rows = (
        Batch.objects.filter(farm=farm)
        .select_related("programme_version")
        .prefetch_related("count_entries", "stays__housing")
    )
    batches, found = {}, {}
    for row in rows:
        heads = heads_by_day(row, window, today)
        if not heads.any():
            continue
        eater = Eater(row.pk, programmes.of(row), row.sex, row.hatch_day, heads, _air(row, window, outlook))
        batches[row.pk] = row
        found[row.pk] = _by_key(eater, window.start)
    return Demand(window, batches, found, _store_c(outlook, today))


def heads_by_day(batch: Batch, window: Window, today: date) -> NDArray[np.int64]:
    """Return the birds at the end of each day: as the ledger says, from today on less usual losses, until they leave.

    A batch that should have left and is still here goes on eating.
    """
    entries = list(batch.count_entries.all())
    alive = np.zeros(window.days)
    for entry in entries:
        if entry.day <= today:
            alive[max((entry.day - window.start).days, 0) :] += entry.birds
    now = (today - window.start).days + 1
    if now < window.days:
        alive[max(now, 0) :] = _to_come(batch, window, today)[max(now, 0) :]
    if batch.leaves_on is not None and batch.leaves_on > today:
        alive[max((batch.leaves_on - window.start).days, 0) :] = 0
    return np.rint(np.maximum(alive, 0)).astype(np.int64)


def _to_come(batch: Batch, window: Window, today: date) -> Array:
    """Return the birds on each day of the window of those alive today and those still to come, less usual losses."""
    ages = np.maximum((window.start - batch.hatch_day).days + np.arange(window.days), 0)
    share = surviving_share(programmes.of(batch), ages)
    found = np.zeros(window.days)
    cohorts = [(today, sum(line.birds for line in batch.count_entries.all() if line.day <= today))]
    cohorts += [(line.day, line.birds) for line in batch.count_entries.all() if line.day > today]
    for day, birds in cohorts:
        then = surviving_share(programmes.of(batch), [max((day - batch.hatch_day).days, 0)])[0]
        start = max((day - window.start).days, 0)
        found[start:] += birds * share[start:] / then
    return found


def _by_key(eater: Eater, first_day: date) -> dict[Key, Array]:
    found: dict[Key, Array] = {}
    for feed, kg in usage.by_feed(eater, first_day).items():
        key = (feed.species, feed.name)
        found[key] = found[key] + kg if key in found else kg
    return found


def _air(batch: Batch, window: Window, outlook: Outlook | None) -> Array | None:
    """Return the mean °C of the air where a batch lives on each day; NaN where it has no place; None unknown."""
    if outlook is None:
        return None
    days = window.dates()
    low, high = outlook.climate.low(days)[0], outlook.climate.high(days)[0]
    air = np.full(window.days, np.nan)
    for stay in batch.stays.all():
        columns = window.clip(stay.start, stay.end)
        if columns is not None:
            night = low[columns] + weather.shelter_of(stay.housing).supplement_c
            air[columns] = (night + np.maximum(high[columns], night)) / 2
    return air


def _store_c(outlook: Outlook | None, today: date) -> float | None:
    if outlook is None:
        return None
    days: Sequence[date] = [today + timedelta(days=ahead) for ahead in range(_STORE_DAYS)]
    return float(np.mean((outlook.climate.low(days)[0] + outlook.climate.high(days)[0]) / 2))
