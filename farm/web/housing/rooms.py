"""Who lives in a housing today, what they ask of it, and when it is free next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from farm.husbandry import heat
from farm.models import Batch, Housing, Stay
from farm.queries import programmes
from farm.queries.occupancy import Sheet

_FELT_C = 0.75  # a smaller step down would read as the same whole degree


@dataclass(frozen=True, slots=True)
class Lodger:
    """One batch's birds in a housing on a day. target_temp_c None: they need no heat any more.

    lower_on, lower_to_c: when the temperature goes down next, and to what.
    """

    batch: Batch
    birds: int
    target_temp_c: float | None
    lower_on: date | None = None
    lower_to_c: float | None = None


@dataclass(frozen=True, slots=True)
class Measure:
    """What is asked of a housing and what it gives, in SI; given 0 where it was not measured."""

    asked: float
    given: float

    @property
    def short(self) -> bool:
        """Say whether more is asked than there is, where that is known."""
        return self.given > 0 and self.asked > self.given + 1e-6


@dataclass(frozen=True, slots=True)
class Today:
    """A housing on one day."""

    housing: Housing
    lodgers: tuple[Lodger, ...]
    area_m2: Measure
    feeder_cm: Measure
    drinker_cm: Measure
    in_service: bool
    free_from: date | None
    resting: bool

    @property
    def birds(self) -> int:
        """Return the birds in it."""
        return sum(lodger.birds for lodger in self.lodgers)

    @property
    def share(self) -> int:
        """Return the percent of the floor in use."""
        return round(100 * self.area_m2.asked / self.housing.area_m2)


def on(sheet: Sheet, key: str, day: date) -> Today:
    """Return housing `key` (its number as text) on a day of the sheet, and the free day that follows in it."""
    load, column = sheet.occupancy, sheet.window.index(day)
    row = load.row[key]
    birds: dict[str, int] = {}
    for part in load.parts:
        if part.room == key and part.birds[column]:
            birds[part.group] = birds.get(part.group, 0) + int(part.birds[column])
    return Today(
        housing=sheet.housings[key],
        lodgers=tuple(_lodger(sheet.batches[batch], count, day) for batch, count in birds.items()),
        area_m2=Measure(float(load.area_asked_m2[row, column]), float(load.area_m2[row, column])),
        feeder_cm=Measure(float(load.feeder_asked_cm[row, column]), float(load.feeder_cm[row, column])),
        drinker_cm=Measure(float(load.drinker_asked_cm[row, column]), float(load.drinker_cm[row, column])),
        in_service=bool(load.area_m2[row, column] > 0),
        free_from=free_from(sheet, key, day),
        resting=bool(load.resting[row, column]),
    )


def free_from(sheet: Sheet, key: str, day: date) -> date | None:
    """Return the first day from `day` on that the housing is in use, empty and rested; None when not in the sheet."""
    load, column = sheet.occupancy, sheet.window.index(day)
    row = load.row[key]
    free = (load.birds[row] == 0) & ~load.resting[row] & (load.area_m2[row] > 0)
    found = np.flatnonzero(free[column:])
    return day + timedelta(days=int(found[0])) if len(found) else None


def stays_of(sheet: Sheet, key: str, today: date) -> tuple[list[Stay], list[Stay], list[Stay]]:
    """Return the stays in a housing that are over, going on and planned, each by their first day."""
    own = sorted((stay for stay in sheet.stays.values() if str(stay.housing_id) == key), key=_by_start)
    for stay in own:
        stay.batch = sheet.batches[str(stay.batch_id)]  # saves a query for each
    over = [stay for stay in own if stay.end is not None and stay.end <= today]
    going = [stay for stay in own if stay.start <= today and stay not in over]
    return over, going, [stay for stay in own if stay.start > today]


def _by_start(stay: Stay) -> tuple[date, int]:
    return stay.start, stay.pk


def _lodger(batch: Batch, birds: int, day: date) -> Lodger:
    programme, age = programmes.of(batch), (day - batch.hatch_day).days
    if not heat.needs_heat(programme, [age])[0]:
        return Lodger(batch, birds, None)
    target = heat.set_temp_c(programme, age)
    lower = heat.next_lower(programme, age)
    while lower is not None and target - lower[1] < _FELT_C:
        lower = heat.next_lower(programme, lower[0])
    return Lodger(
        batch,
        birds,
        target,
        batch.hatch_day + timedelta(days=lower[0]) if lower else None,
        lower[1] if lower else None,
    )


def by_room(housings: Sequence[Housing], sheet: Sheet, day: date) -> list[Today]:
    """Return every housing on a day, in the farm's order."""
    return [on(sheet, str(housing.pk), day) for housing in housings]
