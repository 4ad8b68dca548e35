"""Advice about one batch: warmer or cooler, the last weighing, when to go out. And the lamps of one housing."""

from __future__ import annotations

from datetime import time
from typing import Any, Literal

from ninja import Field, Path, Router, Schema

from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.shapes import Day, Id
from api.models import Scope
from farm import wording
from farm.husbandry.advice.warmth import Advice
from farm.models import Batch, Housing
from farm.models.member import Role
from farm.queries import advice, heads, light, lookup, out_dates
from farm.queries.advice import Weight
from farm.queries.out_dates import OutDates

#: At a batch's own address.
of_batch = Router(tags=["Advice"])
#: At a housing's own address.
of_housing = Router(tags=["Advice"])

_LIGHT_WEEKS, _YEAR_DAYS = 12, 365  # as on the housing's page


class WarmOut(Schema):
    """Whether birds that need heat want it otherwise, by what was noted in the last day."""

    verdict: Literal["warmer", "cooler", "draught", "fine", "look"]
    change_c: float = Field(description="By how many °C; 0 for none.")
    to_c: float = Field(description="To which reading at the birds' height.")
    words: list[str]
    cautions: list[str] = Field(description="Keys of what to beware of.")
    vet: bool = Field(description="Ask the vet.")


class WeightOut(Schema):
    """What the last weighing says."""

    day: Day
    age_days: int
    verdict: Literal["usual", "light", "heavy", "slip"] = Field(
        description="Slip: likelier a typing mistake."
    )
    mean_g: float
    expected_g: float
    low_g: float = Field(description="Nine in ten such means of healthy birds lie from here to `high_g`.")
    high_g: float
    words: str
    vet: bool


class OutingPlaceOut(Schema):
    """From when the nights in one unheated housing are warm enough."""

    housing_id: int
    housing: str
    night_from: Day | None = Field(description="Null: no night within a year is safe.")


class OutingOut(Schema):
    """When a batch may go out, by its age, feathers and, where a climate is known, the nights."""

    day_from: Day = Field(description="First day out of doors by day.")
    night_from: Day | None = Field(description="First night out; null: none within a year is safe.")
    by_age: Day = Field(description="First night out by age alone.")
    weather: bool = Field(description="The nights were asked; else age alone decides.")
    places: list[OutingPlaceOut] = Field(description="The soonest first.")
    words: list[str]


class AdviceOut(Schema):
    """What there is to say about a batch today. Local codes, labels and the vet come first."""

    warm: WarmOut | None = Field(description="Null once they need no heat, or are not here.")
    weight: WeightOut | None = Field(description="Null without a weighing of the last weeks.")
    outing: OutingOut | None = Field(description="Null once it is long past.")


class LampSettingOut(Schema):
    """A timer of lamps from one day to another, both included."""

    first_day: Day
    last_day: Day
    on: time | None = Field(description="In the farm's time; null where the sun alone is enough.")
    off: time | None
    hours: float = Field(description="Of light wanted on the first day.")
    words: str


class LightOut(Schema):
    """The lamps of a housing over the coming 12 weeks."""

    batch_id: int | None = Field(description="Whose light programme counts first; null: none does.")
    settings: list[LampSettingOut]
    notes: list[str]


@of_batch.get("/", response=AdviceOut)
@needs(Role.CHILD, Scope.READ)
def get_advice(request: ApiRequest, batch_id: Path[Id]) -> dict[str, Any]:
    """Return what there is to say about a batch: warmth, weight, going out."""
    farm, by = request.caller.farm, request.caller.by
    batch = lookup.get(Batch, farm_id=farm.pk, pk=batch_id)
    if heads.gone_on(batch) is not None:
        return {"warm": None, "weight": None, "outing": None}
    warm, weight = advice.warm(batch, by.today, by.now), advice.weight(batch, by.today)
    outing = out_dates.of(batch, by.today)
    return {
        "warm": _warm(warm, farm.units) if warm else None,
        "weight": _weight(weight, farm.units) if weight else None,
        "outing": _outing(outing, farm.units) if outing else None,
    }


@of_housing.get("/", response=LightOut)
@needs(Role.CHILD, Scope.READ)
def get_light(request: ApiRequest, housing_id: Path[Id]) -> dict[str, Any]:
    """Return how the lamps of a housing are set; no settings where it has no light programme or no birds come."""
    caller = request.caller
    housing = lookup.get(Housing, farm_id=caller.farm.pk, pk=housing_id)
    shown = light.shown(housing, caller.farm, caller.by.today, _LIGHT_WEEKS, _YEAR_DAYS)
    if shown is None:
        return {"batch_id": None, "settings": [], "notes": []}
    own = ("first_day", "last_day", "on", "off", "hours")
    return {
        "batch_id": shown.span.batch.pk,
        "settings": [
            {name: getattr(one, name) for name in own} | {"words": wording.say(one.words, caller.farm.units)}
            for one in shown.settings
        ],
        "notes": [wording.say(note, caller.farm.units) for note in shown.notes],
    }


def _warm(warm: Advice, units: str) -> dict[str, Any]:
    own = ("verdict", "change_c", "to_c", "vet")
    return {name: getattr(warm, name) for name in own} | {
        "words": [wording.say(one, units) for one in warm.words],
        "cautions": list(warm.cautions),
    }


def _weight(weight: Weight, units: str) -> dict[str, Any]:
    own = ("verdict", "mean_g", "expected_g", "low_g", "high_g", "vet")
    return {name: getattr(weight.said, name) for name in own} | {
        "day": weight.day,
        "age_days": weight.age_days,
        "words": wording.say(weight.said.words, units),
    }


def _outing(found: OutDates, units: str) -> dict[str, Any]:
    return {
        "day_from": found.day.day if found.day else found.out_by_day,
        "night_from": found.night.day if found.night else found.by_age,
        "by_age": found.by_age,
        "weather": found.night is not None,
        "places": [
            {"housing_id": one.housing.pk, "housing": one.housing.name, "night_from": one.night.day}
            for one in found.places
        ],
        "words": [wording.say(one, units) for one in found.sentences],
    }
