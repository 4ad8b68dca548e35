"""Housing: added, changed, taken out of use; who lives in it today and when it is free next."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.urls import reverse
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Number, Text, Whole, absent
from api.models import Scope
from farm.models import Housing
from farm.models.housing import HousingKind, Light
from farm.models.member import Role
from farm.planning.window import Window
from farm.queries import lookup, occupancy
from farm.queries.occupancy import Sheet
from farm.services import housings
from farm.web.housing import rooms
from farm.web.housing.forms import by_kind

router = Router(tags=["Housing"])
_AHEAD_DAYS = 26 * 7  # how far a free day is looked for, as on the page

Species = list[Text]


class LodgerOut(Schema):
    """Birds of one batch in a housing today."""

    batch_id: int
    batch: str
    birds: int
    target_temp_c: float | None = Field(description="Null: they need no heat any more.")
    lower_on: Day | None = Field(description="When the temperature goes down next.")
    lower_to_c: float | None


class HousingLoadOut(Schema):
    """What is asked of a housing today."""

    birds: int
    lodgers: list[LodgerOut]
    area_asked_m2: float
    feeder_asked_cm: float
    drinker_asked_cm: float
    floor_percent: int = Field(description="Of the floor in use; above 100 is too little room.")
    in_service: bool
    resting: bool = Field(description="Empty, and not to be used yet after its last birds.")
    free_from: Day | None = Field(description="First day it is empty and rested; null: not within 26 weeks.")


class HousingOut(Schema):
    """One bounded place for birds, with its load as of the farm's today."""

    id: int
    version: int
    name: str
    whereabouts: str = Field(description="What has the same words stands together and is done in one go.")
    kind: HousingKind
    area_m2: float
    feeder_cm: float = Field(description="All edges birds can eat at; 0 when not measured.")
    drinker_cm: float = Field(description="0 when not measured.")
    heated: bool
    indoor: bool
    species: list[str] = Field(description="Keys of species it is for; [] for all.")
    one_batch: bool
    max_age_gap_days: int = Field(description="Largest age gap when batches share it.")
    rest_days: int = Field(description="After clean-out.")
    in_service_from: Day | None
    in_service_to: Day | None = Field(description="First day it is out of use.")
    supplement_c: float | None = Field(
        description="Warmer than outdoors at night by, in °C; null: as usual for its kind."
    )
    light: Light
    notes: str
    position: int = Field(description="Its place on the board.")
    code: str = Field(description="Printed on its card.")
    card_address: str = Field(description="What the card's QR code opens.")
    today: HousingLoadOut


class HousingChange(In):
    """What is to be different; what is left out stays."""

    name: Text = absent(max_length=60)
    whereabouts: Text = absent(max_length=40)
    kind: HousingKind = absent()
    area_m2: Number = absent()
    feeder_cm: Number = absent()
    drinker_cm: Number = absent()
    heated: bool = absent()
    indoor: bool = absent()
    species: Species = absent(max_length=20)
    one_batch: bool = absent()
    max_age_gap_days: Whole = absent()
    rest_days: Whole = absent()
    in_service_from: Day | None = None
    in_service_to: Day | None = None
    supplement_c: Number | None = None
    light: Light = absent()
    notes: Text = absent(max_length=2000)


class NewHousing(HousingChange):
    """A housing to add; what is left out is as usual for its kind."""

    name: Text = Field(max_length=60)
    kind: HousingKind
    area_m2: Number


class Wanted(pages.Wide):
    """Which housing."""

    kind: HousingKind | None = None
    heated: bool | None = None
    name: Text | None = Field(None, description="Part of the name, whatever its case.")


HousingFields = pages.fewer(HousingOut)


@router.get("/", response=Page[HousingFields], exclude_unset=True)  # type: ignore[valid-type]
@needs(Role.CHILD, Scope.READ)
def list_housing(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the farm's housing with its load today, as on the board."""
    sheet = _sheet(request)
    page = pages.of(
        _filtered(request, query), query, lambda housing: _shape(housing, sheet, request), order="position"
    )
    return pages.only(page, HousingOut, query.fields)


@router.post("/", response={201: HousingOut})
@needs(Role.KEEPER, Scope.WRITE)
def add_housing(request: ApiRequest, new: NewHousing) -> Status:
    """Add a housing."""
    housing = housings.add(request.caller.by, **by_kind(new.kind) | new.given())
    request.location = f"{request.path}{housing.pk}/"
    return Status(201, _whole(request, housing.pk))


@router.get("/{housing_id}/", response=HousingOut)
@needs(Role.CHILD, Scope.READ)
def get_housing(request: ApiRequest, housing_id: Id) -> dict[str, Any]:
    """Return one housing."""
    return _whole(request, housing_id)


@router.patch("/{housing_id}/", response=HousingOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_housing(request: ApiRequest, housing_id: Id, change: HousingChange) -> dict[str, Any]:
    """Change a housing. The stays in it from today on must still be possible."""
    version = versions.expected(request)
    housings.change(request.caller.by, housing_id=housing_id, expected_version=version, **change.given())
    return _whole(request, housing_id)


@router.delete("/{housing_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_housing(request: ApiRequest, housing_id: Id) -> Status:
    """Remove a housing without stays or records; of another, set `in_service_to` instead."""
    version = versions.expected(request)
    housings.remove(request.caller.by, housing_id=housing_id, expected_version=version)
    return Status(204, None)


def _filtered(request: ApiRequest, query: Wanted) -> QuerySet[Housing]:
    asked = {"kind": query.kind, "heated": query.heated, "name__icontains": query.name}
    rows = Housing.objects.filter(farm=request.caller.farm)
    return rows.filter(**{name: value for name, value in asked.items() if value is not None})


def _sheet(request: ApiRequest) -> Sheet:
    today = request.caller.by.today
    return occupancy.for_farm(request.caller.farm, Window(today, _AHEAD_DAYS), today)


def _whole(request: ApiRequest, housing_id: int) -> dict[str, Any]:
    housing = lookup.get(Housing, farm_id=request.caller.farm.pk, pk=housing_id)
    return _shape(versions.show(request, housing), _sheet(request), request)


def _shape(housing: Housing, sheet: Sheet, request: ApiRequest) -> dict[str, Any]:
    own = {name: getattr(housing, name) for name in HousingOut.model_fields if hasattr(housing, name)}
    now = rooms.on(sheet, str(housing.pk), request.caller.by.today)
    return own | {
        "card_address": settings.ADDRESS.rstrip("/") + reverse("housing-card", args=[housing.code]),
        "today": {
            "birds": now.birds,
            "lodgers": [_lodger(lodger) for lodger in now.lodgers],
            "area_asked_m2": now.area_m2.asked,
            "feeder_asked_cm": now.feeder_cm.asked,
            "drinker_asked_cm": now.drinker_cm.asked,
            "floor_percent": now.share,
            "in_service": now.in_service,
            "resting": now.resting,
            "free_from": now.free_from,
        },
    }


def _lodger(lodger: rooms.Lodger) -> dict[str, Any]:
    return {
        "batch_id": lodger.batch.pk,
        "batch": lodger.batch.name,
        "birds": lodger.birds,
        "target_temp_c": lodger.target_temp_c,
        "lower_on": lodger.lower_on,
        "lower_to_c": lodger.lower_to_c,
    }
