"""The climate of the farm, and the coming days' lows as they are to be expected."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Annotated, Any

from ninja import Field, Query, Router, Schema

from api import windows
from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, In, Number
from api.models import Scope
from farm import wording
from farm.errors import BadInput
from farm.models import Weather
from farm.models.member import Role
from farm.planning.window import Window
from farm.queries import forecasts, lookup
from farm.queries import weather as read
from farm.queries.nights import COLD, WARM
from farm.services import weather

router = Router(tags=["Weather"])
#: What is to be expected.
outlook = Router(tags=["Weather"])

Months = Annotated[list[Number], Field(min_length=12, max_length=12)]
_MEAN, _SPREAD = "January first.", "Standard deviation of single days about it."


class ForecastStateOut(Schema):
    """How asking a weather service stands."""

    asked: bool = Field(description="The farm asks for one.")
    able: bool = Field(description="This server may ask.")
    got_at: datetime | None = Field(description="When the last good one came.")
    stale: bool = Field(description="It is too old for anybody to be alarmed by it.")
    why: str | None = Field(description="Why none newer came, in words.")
    credit: str = Field(description="Who is to be named beside it.")


class ClimateOut(Schema):
    """Means and spreads of the nights' lows and days' highs, °C."""

    version: int
    low_mean_c: list[float] = Field(description=_MEAN)
    low_sd_c: list[float] = Field(description=_SPREAD)
    high_mean_c: list[float] = Field(description=_MEAN)
    high_sd_c: list[float] = Field(description=_SPREAD)
    learned_years: float = Field(description="Of the record it was learned from; 0: entered by hand.")
    learned_on: Day | None
    confidence: float = Field(description="How sure a night must be before birds stay out, 0.5 to 0.999.")
    use_forecast: bool
    forecast: ForecastStateOut


class NewClimate(In):
    """Twelve numbers each, January first, °C."""

    low_mean_c: Months
    low_sd_c: Months
    high_mean_c: Months
    high_sd_c: Months


class ClimateChoices(In):
    """How sure a night must be, and whether a weather service is asked."""

    confidence: Number = Field(description="0.5 to 0.999.")
    use_forecast: bool


class OutlookDayOut(Schema):
    """What one day's lowest temperature may be, °C."""

    day: Day
    low_cold_c: float = Field(description="One day in ten is colder.")
    low_middle_c: float
    low_warm_c: float = Field(description="One day in ten is warmer.")
    foretold: bool = Field(description="By the forecast; else by the climate.")


class Wanted(pages.Paging):
    """Which days."""

    start: Day = Field(alias="from")
    end: Day = Field(alias="to", description="Not included; at most 92 days after `from`.")


@router.get("/", response=ClimateOut)
@needs(Role.CHILD, Scope.READ)
def get_climate(request: ApiRequest) -> dict[str, Any]:
    """Return the farm's climate; 404 while it has none: then age alone decides when birds go out."""
    return _whole(request)


@router.put("/", response=ClimateOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def enter_climate(request: ApiRequest, new: NewClimate) -> dict[str, Any]:
    """Set the climate by hand. Where there is none yet, send `If-Match: *`."""
    version = versions.expected(request)
    try:
        weather.enter(request.caller.by, expected_version=version, months=new.dict())
    except BadInput as refused:
        raise BadInput({_pointer(name): texts for name, texts in refused.fields.items()}) from refused
    return _whole(request)


@router.patch("/", response=ClimateOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def choose_confidence(request: ApiRequest, choices: ClimateChoices) -> dict[str, Any]:
    """Set how sure a night must be, and whether a weather service is asked."""
    version = versions.expected(request)
    weather.prefer(request.caller.by, expected_version=version, **choices.dict())
    return _whole(request)


@outlook.get("/", response=Page[OutlookDayOut])
@needs(Role.CHILD, Scope.READ)
def list_outlook(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """Return how cold the coming days may get, by the forecast while it knows more, then by the climate."""
    window = Window(query.start, windows.days(query.start, query.end))
    expected = read.outlook_of(_stored(request))
    days = list(window.dates())
    cold, middle, warm = (expected.low_quantile(days, q).tolist() for q in (COLD, 0.5, WARM))
    rows = [
        {"day": day, "low_cold_c": low, "low_middle_c": mid, "low_warm_c": high, "foretold": bool(told)}
        for day, low, mid, high, told in zip(days, cold, middle, warm, expected.foretold(days), strict=True)
    ]
    return pages.of_list(rows, query)


def _stored(request: ApiRequest) -> Weather:
    farm = request.caller.farm
    row = read.stored(farm)
    return lookup.get(Weather, farm_id=farm.pk, pk=row.pk if row else None)


def _whole(request: ApiRequest) -> dict[str, Any]:
    row = versions.show(request, _stored(request))
    shown = forecasts.shown(request.caller.farm, row, request.caller.by.now)
    own = {name: getattr(row, name) for name in ClimateOut.model_fields if hasattr(row, name)}
    return own | {
        "forecast": {name: getattr(shown, name) for name in ("asked", "able", "got_at", "stale", "credit")}
        | {"why": wording.say(shown.why) if shown.why else None}
    }


def _pointer(name: str) -> str:
    """Turn the name of one month's number, low_mean_c_3 for March, into a pointer's."""
    return re.sub(r"_(\d+)$", lambda found: f"/{int(found[1]) - 1}", name)
