"""Observations: what someone saw. Temperatures, behaviour, weights, feed left, notes."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from django.db.models import QuerySet
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Id, In, Instant, Number, Text
from api.models import Scope
from farm.models import Observation
from farm.models.member import Role
from farm.models.observation import ObservationKind
from farm.queries import lookup
from farm.services import observations
from farm.services.counts import MOST_BIRDS

router = Router(tags=["Observations"])

_VALUE = "Of a temperature in °C, a weight in g for one bird, feed left in kg; null of the others."


class ObservationOut(Schema):
    """Something seen at an instant, of a batch, a housing or both."""

    id: int
    kind: ObservationKind
    at: datetime
    batch_id: int | None
    batch: str | None
    housing_id: int | None
    housing: str | None
    value: float | None = Field(description=_VALUE)
    birds: int | None = Field(description="Of a weight: how many were weighed; the value is their mean.")
    word: str = Field(description="Of behaviour: its key, such as `huddled`.")
    note: str
    member: str | None = Field(description="Who saw it.")


class NewObservation(In):
    """What was seen; of a batch, a housing or both."""

    kind: ObservationKind
    batch_id: Id | None = None
    housing_id: Id | None = None
    at: Instant | None = Field(None, description="Now, when left out.")
    value: Number | None = Field(None, description=_VALUE)
    birds: int | None = Field(None, ge=1, le=MOST_BIRDS, description="Of a weight: how many were weighed.")
    word: Text = Field("", max_length=24, description="Of behaviour: its key.")
    note: Text = Field("", max_length=500)
    key: Text = Field("", max_length=64, description="A device's own key: sent twice, it is one observation.")


class Wanted(pages.Paging):
    """Which observations."""

    kind: ObservationKind | None = None
    batch_id: Id | None = None
    housing_id: Id | None = None
    since: Instant | None = Field(None, description="From this instant on.")
    before: Instant | None = None
    order: Literal["id", "-id", "at", "-at"] = "-at"


@router.get("/", response=Page[ObservationOut])
@needs(Role.CHILD, Scope.READ)
def list_observations(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List what was seen, newest first unless asked otherwise."""
    return pages.of(_filtered(request, query), query, _shape, order=query.order)


@router.post("/", response={201: ObservationOut})
@needs(Role.CHILD, Scope.RECORD)
def add_observation(request: ApiRequest, new: NewObservation) -> Status:
    """Record what was seen."""
    fields = new.dict()
    seen = observations.add(request.caller.by, client_key=fields.pop("key"), **fields)
    request.location = f"{request.path}{seen.pk}/"
    return Status(201, _whole(request, seen.pk))


@router.get("/{observation_id}/", response=ObservationOut)
@needs(Role.CHILD, Scope.READ)
def get_observation(request: ApiRequest, observation_id: Id) -> dict[str, Any]:
    """Return one observation."""
    return _whole(request, observation_id)


def _rows(request: ApiRequest) -> QuerySet[Observation]:
    rows = Observation.objects.filter(farm=request.caller.farm)
    return rows.select_related("batch", "housing", "member")


def _filtered(request: ApiRequest, query: Wanted) -> QuerySet[Observation]:
    asked = {
        "kind": query.kind,
        "batch_id": query.batch_id,
        "housing_id": query.housing_id,
        "at__gte": query.since,
        "at__lt": query.before,
    }
    return _rows(request).filter(**{name: value for name, value in asked.items() if value is not None})


def _whole(request: ApiRequest, observation_id: int) -> dict[str, Any]:
    lookup.get(Observation, farm_id=request.caller.farm.pk, pk=observation_id)
    return _shape(_rows(request).get(pk=observation_id))


def _shape(seen: Observation) -> dict[str, Any]:
    own = {name: getattr(seen, name) for name in ObservationOut.model_fields if hasattr(seen, name)}
    return own | {
        name: str(getattr(seen, name)) if getattr(seen, name) else None
        for name in ("batch", "housing", "member")
    }
