"""The nights of a window as they are to be expected, and what the batches in unheated housing bear of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from farm.husbandry import heat
from farm.husbandry.going_out import nights
from farm.models import Batch, Farm, Housing
from farm.planning.window import Window
from farm.queries import programmes, weather
from farm.queries.occupancy import Sheet
from farm.queries.weather import Sky

#: One night in ten is colder than the band, one in ten warmer. Project default (judgement).
COLD, WARM = 0.1, 0.9
Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Bearing:
    """What one batch in one housing bears: the outside °C that is still warm enough, and the chance of it; by night.

    NaN on nights it is not there, or has heat.
    """

    batch: Batch
    housing: Housing
    outside_c: Floats
    chance: Floats


@dataclass(frozen=True, eq=False)
class Nights:
    """The nights that begin on each day of the window, °C. foretold: those the forecast speaks of."""

    window: Window
    cold_c: Floats
    warm_c: Floats
    foretold: NDArray[np.bool_]
    bearings: tuple[Bearing, ...]
    confidence: float


def over(farm: Farm, sheet: Sheet) -> Nights | None:
    """Return the nights of a sheet's window, None where the farm has no climate."""
    sky = weather.of(farm)
    if sky is None:
        return None
    lows = [day + timedelta(days=1) for day in sheet.window.dates()]
    return Nights(
        window=sheet.window,
        cold_c=sky.outlook.low_quantile(lows, COLD),
        warm_c=sky.outlook.low_quantile(lows, WARM),
        foretold=sky.outlook.foretold(lows),
        bearings=tuple(_bearings(sheet, sky)),
        confidence=sky.confidence,
    )


def _bearings(sheet: Sheet, sky: Sky) -> Iterator[Bearing]:
    there: dict[tuple[str, str], NDArray[np.bool_]] = {}
    for part, area in zip(sheet.occupancy.parts, sheet.occupancy.part_area_m2, strict=True):
        key = (part.group, part.room)
        there[key] = there.get(key, np.zeros(sheet.window.days, dtype=np.bool_)) | (area > 0)
    for (group, room), days in there.items():
        batch, housing = sheet.batches[group], sheet.housings[room]
        programme = programmes.of(batch)
        ages = np.array([(day - batch.hatch_day).days for day in sheet.window.dates()])
        cold = days & (ages >= 0)
        if housing.heated:
            cold &= ~heat.needs_heat(programme, np.maximum(ages, 0))
        columns = np.flatnonzero(cold)
        if not len(columns):
            continue
        asked = [sheet.window.day(int(column)) for column in columns]
        found = nights(programme, batch.hatch_day, sky.outlook, weather.shelter_of(housing), asked)
        outside, chance = np.full(len(days), np.nan), np.full(len(days), np.nan)
        outside[columns] = [night.outside_c for night in found]
        chance[columns] = [night.chance for night in found]
        yield Bearing(batch, housing, outside, chance)
