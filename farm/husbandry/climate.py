"""A farm's climate: how warm nights and afternoons are through the year, and how far single ones stray.

Twelve means and spreads are enough; a farm's own daily record gives them and the shape of its nights besides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from functools import cached_property

from numpy.typing import ArrayLike

from farm.husbandry.day_law import NORMAL, DayLaw, Days, Shape
from farm.husbandry.year_curve import MONTHS, Array

#: What a monthly mean and a spread may be, °C; anything else is a slip of the hand.
MEAN_C, SPREAD_C = (-40.0, 45.0), (0.0, 15.0)


@dataclass(frozen=True, slots=True)
class ClimateProblem:
    """One of the 48 numbers that cannot be. field: of MonthlyClimate; month: 1 to 12; low, high: accepted, °C."""

    field: str
    month: int
    low: float
    high: float


class ClimateError(ValueError):
    """Monthly numbers that cannot be; `problems` names each."""

    def __init__(self, problems: Sequence[ClimateProblem]) -> None:
        self.problems = tuple(problems)
        super().__init__("; ".join(f"{each.field}, month {each.month}" for each in self.problems))


@dataclass(frozen=True, slots=True)
class MonthlyClimate:
    """Mean and spread (standard deviation) of a month's daily minima and maxima, °C, January first.

    Raises ClimateError for a number out of bounds or a high below its low, ValueError unless there are twelve of each.
    """

    low_mean_c: tuple[float, ...]
    low_sd_c: tuple[float, ...]
    high_mean_c: tuple[float, ...]
    high_sd_c: tuple[float, ...]

    def __post_init__(self) -> None:
        problems = []
        for each in fields(self):
            values = getattr(self, each.name)
            if len(values) != MONTHS:
                raise ValueError(f"{each.name} must have {MONTHS} values")
            low, high = MEAN_C if each.name.endswith("mean_c") else SPREAD_C
            problems += [
                ClimateProblem(each.name, month, low, high)
                for month, value in enumerate(values, 1)
                if not low <= value <= high
            ]
        pairs = zip(self.low_mean_c, self.high_mean_c, strict=True)
        crossed = [month for month, (low, high) in enumerate(pairs, 1) if high < low]
        problems += [
            ClimateProblem("high_mean_c", month, self.low_mean_c[month - 1], MEAN_C[1]) for month in crossed
        ]
        if problems:
            raise ClimateError(problems)


@dataclass(frozen=True)
class Climate:
    """A climate by day of the year. low_shape, high_shape: the normal law's unless learned from a record.

    Every method takes one date or several and answers in that shape (0-d for one date).
    """

    monthly: MonthlyClimate
    low_shape: Shape = field(default=NORMAL)
    high_shape: Shape = field(default=NORMAL)

    def low(self, days: Days) -> tuple[Array, Array]:
        """Return mean and spread of each day's minimum, °C. Each month's days have exactly the month's mean."""
        return self._lows.mean_and_sd(days)

    def high(self, days: Days) -> tuple[Array, Array]:
        """Return mean and spread of each day's maximum, °C."""
        return self._highs.mean_and_sd(days)

    def chance_low_at_least(self, days: Days, temp_c: ArrayLike) -> Array:
        """Return the chance that each day's minimum is temp_c or more."""
        return self._lows.chance_at_least(days, temp_c)

    def chance_high_at_least(self, days: Days, temp_c: ArrayLike) -> Array:
        """Return the chance that each day's maximum is temp_c or more."""
        return self._highs.chance_at_least(days, temp_c)

    def low_quantile(self, days: Days, q: float) -> Array:
        """Return the °C each day's minimum is below with chance q. Raises ValueError unless 0 < q < 1."""
        return self._lows.quantile(days, q)

    def high_quantile(self, days: Days, q: float) -> Array:
        """Return the °C each day's maximum is below with chance q. Raises ValueError unless 0 < q < 1."""
        return self._highs.quantile(days, q)

    @cached_property
    def _lows(self) -> DayLaw:
        return DayLaw(self.monthly.low_mean_c, self.monthly.low_sd_c, self.low_shape)

    @cached_property
    def _highs(self) -> DayLaw:
        return DayLaw(self.monthly.high_mean_c, self.monthly.high_sd_c, self.high_shape)
