"""Everything a bird asks of its housing on each day of its life, as arrays by age: what occupancy reads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from farm.husbandry import heat, space
from farm.trade.programme import Programme


@dataclass(frozen=True, slots=True, eq=False)
class Needs:
    """Needs of one bird, index = days of age: area_m2, feeder_cm, drinker_cm (float64) and heat (bool)."""

    area_m2: NDArray[np.float64]
    feeder_cm: NDArray[np.float64]
    drinker_cm: NDArray[np.float64]
    heat: NDArray[np.bool_]


def needs(programme: Programme, days: int) -> Needs:
    """Return the needs for ages 0 to days - 1, each array of length `days`. Raises ValueError for a negative count."""
    if days < 0:
        raise ValueError("days must not be negative")
    ages = np.arange(days)
    return Needs(
        area_m2=space.area_m2(programme, ages),
        feeder_cm=space.feeder_cm(programme, ages),
        drinker_cm=space.drinker_cm(programme, ages),
        heat=heat.needs_heat(programme, ages),
    )
