"""The weights of a batch against its programme's curve."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np

from farm import units
from farm.husbandry import growth
from farm.models import Batch, Observation
from farm.models.observation import ObservationKind
from farm.phrase import Quantity
from farm.queries import heads, programmes
from farm.web.batches.axis import Axes, round_up

_AHEAD_DAYS = 14  # drawn beyond today; project default (judgement)


@dataclass(frozen=True, slots=True)
class Weighing:
    """One weighing: grams a bird seen, and by the curve; x and y of its dot."""

    seen: Observation
    day: date
    age: int
    expected_g: float
    x: float
    y: float

    @property
    def percent(self) -> int:
        """Return by how many percent they are heavier than the curve says."""
        assert self.seen.value is not None
        return round(100 * (self.seen.value / self.expected_g - 1))


@dataclass(frozen=True, slots=True)
class Weights:
    """The drawing and its twin. unit: the label of the upright axis, in the farm's units."""

    axes: Axes
    unit: str
    curve: str
    weighings: tuple[Weighing, ...]


def draw(batch: Batch, today: date, system: str) -> Weights:
    """Return the curve from hatch to a fortnight from today, with the weighings so far. Grams are drawn as shown."""
    programme = programmes.of(batch)
    last = min(today, heads.gone_on(batch) or today)
    seen = list(batch.observations.filter(kind=ObservationKind.WEIGHT).order_by("at"))
    zone = ZoneInfo(batch.farm.time_zone)
    days = [one.at.astimezone(zone).date() for one in seen]
    last_age = max(0, *((day - batch.hatch_day).days for day in [last, *days])) + _AHEAD_DAYS
    ages = np.arange(last_age + 1)
    curve = growth.weight_g(programme, ages, batch.sex)
    axes = Axes(
        last_age, round_up(max(_shown(g, system) for g in [*curve, *(one.value or 0 for one in seen)]))
    )
    weighings = []
    for one, day in zip(seen, days, strict=True):
        age = max(0, (day - batch.hatch_day).days)
        assert one.value is not None
        x, y = axes.x(age), axes.y(_shown(one.value, system))
        weighings.append(Weighing(one, day, age, float(curve[age]), x, y))
    return Weights(
        axes=axes,
        unit=units.label("g", system),
        curve=axes.line((int(age), _shown(g, system)) for age, g in zip(ages, curve, strict=True)),
        weighings=tuple(weighings),
    )


def _shown(grams: float, system: str) -> float:
    return units.shown(Quantity(float(grams), "g"), system)[0]
