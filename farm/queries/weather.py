"""A farm's climate and forecast as the pure parts know them, and what they let its birds do: the one place asked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, TypeVar

from farm.husbandry import outdoors
from farm.husbandry.climate import Climate, MonthlyClimate
from farm.husbandry.day_law import NORMAL, Shape
from farm.husbandry.going_out import DayAnswer, NightAnswer, Shelter, first_day_out, first_night_out
from farm.husbandry.outlook import Forecast as Told
from farm.husbandry.outlook import Outlook
from farm.models import Farm, Forecast, Housing, Weather
from farm.trade.general import figure
from farm.trade.programme import Programme

#: A housing in the open of which nothing is known: no warmer than outside.
OPEN = Shelter.usual(indoor=False, heated=False)
T = TypeVar("T")


@dataclass(frozen=True)
class Sky:
    """What the weather lets birds do on one farm. Answers are kept: one problem asks the same many times.

    shelter: of birds outdoors of which no housing is named: the least warm of the farm's outdoor housings.
    """

    outlook: Outlook
    confidence: float
    shelter: Shelter = OPEN
    _kept: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)

    def night(self, programme: Programme, hatch_day: date, shelter: Shelter | None = None) -> NightAnswer:
        """Return the first night birds of this hatch may stay out, and why not sooner."""
        place = shelter or self.shelter
        return self._once(
            ("night", programme, hatch_day, place),
            lambda: first_night_out(programme, hatch_day, self.outlook, place, confidence=self.confidence),
        )

    def day(self, programme: Programme, hatch_day: date) -> DayAnswer:
        """Return the first day they may be out by day."""
        return self._once(
            ("day", programme, hatch_day),
            lambda: first_day_out(programme, hatch_day, self.outlook, self.confidence),
        )

    def out(self, programme: Programme, hatch_day: date) -> tuple[DayAnswer, NightAnswer]:
        """Return both answers: by day, and for the nights."""
        return self.day(programme, hatch_day), self.night(programme, hatch_day)

    def held_back(self, programme: Programme, hatch_day: date, shelter: Shelter | None = None) -> date | None:
        """Return the first day they may live outdoors where the nights put it off; None where age alone decides.

        Where no night within a year is safe, a year after their age allows it: then it is asked anew.
        """
        by_age = hatch_day + timedelta(days=outdoors.nights_out_age(programme))
        found = self.night(programme, hatch_day, shelter).day or by_age + timedelta(days=365)
        return found if found > by_age else None

    def _once(self, key: tuple[Any, ...], work: Callable[[], T]) -> T:
        name, programme, *rest = key
        known = (name, id(programme), *rest)
        if known not in self._kept:
            self._kept[known] = (programme, work())  # the programme is held, so that its id stays its own
        found: T = self._kept[known][1]
        return found


def of(farm: Farm) -> Sky | None:
    """Return the farm's sky, None where it has no climate. Three queries at most."""
    row = stored(farm)
    if row is None:
        return None
    return Sky(outlook_of(row), row.confidence, _least_warm(farm))


def stored(farm: Farm) -> Weather | None:
    """Return the farm's climate as it is stored, None without one."""
    return Weather.objects.filter(farm=farm).first()


def outlook(farm: Farm) -> Outlook | None:
    """Return what is to be expected of coming days, None where the farm has no climate."""
    row = stored(farm)
    return None if row is None else outlook_of(row)


def outlook_of(row: Weather) -> Outlook:
    """Return the outlook of a stored climate, with the last good forecast while the farm asks for one."""
    told = Forecast.objects.filter(farm_id=row.farm_id).first() if row.use_forecast else None
    return Outlook(climate_of(row), None if told is None else forecast_of(told))


def climate_of(row: Weather) -> Climate:
    """Return a stored climate."""
    monthly = MonthlyClimate(*(tuple(getattr(row, name)) for name in MONTHLY))
    return Climate(monthly, _shape(row.low_shape), _shape(row.high_shape))


def forecast_of(row: Forecast) -> Told | None:
    """Return a stored forecast, None before the first."""
    if row.made_on is None:
        return None
    days = {date.fromisoformat(day): pair for day, pair in row.days.items()}
    return Told(
        row.made_on,
        {day: low for day, (low, _high) in days.items() if low is not None},
        {day: high for day, (_low, high) in days.items() if high is not None},
    )


def shelter_of(housing: Housing, *, heat_on: bool = False) -> Shelter:
    """Return how much warmer than outside a night in a housing is: as recorded, else as usual for its kind.

    heat_on: its heat is running; where the farm has recorded how warm it is, that counts.
    """
    if housing.supplement_c is None:
        return Shelter.usual(housing.indoor, heat_on and housing.heated)
    return Shelter(housing.indoor, min(housing.supplement_c, figure("outdoors", "shelter_most_c")))


#: The monthly numbers, in the order of `MonthlyClimate`.
MONTHLY = ("low_mean_c", "low_sd_c", "high_mean_c", "high_sd_c")


def monthly(row: Weather) -> Mapping[str, list[float]]:
    """Return the four lists of twelve numbers by name."""
    return {name: list(getattr(row, name)) for name in MONTHLY}


def _shape(rows: list[list[float]] | None) -> Shape:
    return NORMAL if rows is None else tuple(tuple(each) for each in rows)


def _least_warm(farm: Farm) -> Shelter:
    rows = Housing.objects.filter(farm=farm, indoor=False)
    return min((shelter_of(row) for row in rows), key=lambda one: one.supplement_c, default=OPEN)
