"""What is to be expected of coming days: the forecast while it knows more than the climate, then the climate."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from statistics import NormalDist
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry.climate import Climate
from farm.husbandry.day_law import Days, normal_above
from farm.husbandry.year_curve import Array
from farm.trade.general import figure


@dataclass(frozen=True, slots=True)
class Forecast:
    """What a service says of coming days. made_on: the day it was made; lows_c, highs_c: by date, °C."""

    made_on: date
    lows_c: Mapping[date, float] = field(default_factory=lambda: MappingProxyType({}))
    highs_c: Mapping[date, float] = field(default_factory=lambda: MappingProxyType({}))

    def error_c(self, day: date) -> float:
        """Return the spread of what comes about what is forecast for a day: it grows with every day ahead."""
        ahead = max((day - self.made_on).days - 1, 0)
        return figure("outdoors", "forecast_error_c") + ahead * figure("outdoors", "forecast_error_more_c")


@dataclass(frozen=True, slots=True)
class Outlook:
    """A climate, and perhaps a forecast: for a day it counts while its error is below the climate's spread."""

    climate: Climate
    forecast: Forecast | None = None

    def chance_low_at_least(self, days: Sequence[date], temps_c: ArrayLike) -> Array:
        """Return the chance that each day's minimum is at least its temperature (one for all, or one each)."""
        told = self.forecast.lows_c if self.forecast else {}
        return self._chance(days, temps_c, told, self.climate.low, self.climate.chance_low_at_least)

    def chance_high_at_least(self, days: Sequence[date], temps_c: ArrayLike) -> Array:
        """Return the chance that each day's maximum is at least its temperature (one for all, or one each)."""
        told = self.forecast.highs_c if self.forecast else {}
        return self._chance(days, temps_c, told, self.climate.high, self.climate.chance_high_at_least)

    def low_quantile(self, days: Sequence[date], q: float) -> Array:
        """Return the °C each day's minimum is below with chance q. Raises ValueError unless 0 < q < 1."""
        told = self.forecast.lows_c if self.forecast else {}
        found = self.climate.low_quantile(days, q)
        errors = self._errors(days, told)
        counts = errors < self.climate.low(days)[1]
        found[counts] = _values(days, told)[counts] + errors[counts] * NormalDist().inv_cdf(q)
        return found

    def foretold(self, days: Sequence[date]) -> NDArray[np.bool_]:
        """Return for which days' minimum the forecast counts, not the climate."""
        told = self.forecast.lows_c if self.forecast else {}
        return self._errors(days, told) < self.climate.low(days)[1]

    def _chance(
        self,
        days: Sequence[date],
        temps_c: ArrayLike,
        told: Mapping[date, float],
        usual: Callable[[Days], tuple[Array, Array]],
        by_climate: Callable[[Days, ArrayLike], Array],
    ) -> Array:
        chances = by_climate(days, temps_c)
        errors, forecast = self._errors(days, told), _values(days, told)
        counts = errors < usual(days)[1]
        off = np.broadcast_to(np.asarray(temps_c, dtype=np.float64), chances.shape) - forecast
        chances[counts] = normal_above(off[counts] / errors[counts])
        return chances

    def _errors(self, days: Sequence[date], told: Mapping[date, float]) -> NDArray[np.float64]:
        """Return the spread about each day's forecast; endless where there is none."""
        made = self.forecast
        return np.array([made.error_c(day) if made and day in told else np.inf for day in days])


def _values(days: Sequence[date], told: Mapping[date, float]) -> NDArray[np.float64]:
    return np.array([told.get(day, 0.0) for day in days], dtype=np.float64)
