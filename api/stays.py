"""Stays: where birds live, from when to when; planned, changed, removed, and birds moved from one to another."""

from __future__ import annotations

from typing import Any, Literal

from django.db.models import Q, QuerySet
from ninja import Field, Path, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text, absent
from api.models import Scope
from farm.models import Stay
from farm.models.member import Role
from farm.queries import batches as read
from farm.queries import lookup
from farm.services import stays

router = Router(tags=["Stays"])
#: At a batch's own address.
moves = Router(tags=["Stays"])

_REASON = "Why birds go where the programme or the nights say they should not."


class StayOut(Schema):
    """Part of a batch in one housing over half-open days."""

    id: int
    version: int
    batch_id: int
    batch: str
    housing_id: int
    housing: str
    birds: int = Field(description="How many begin it; later losses come off by the ledger.")
    start: Day
    end: Day | None = Field(description="The day they leave, not included; null: until further notice.")
    state: Literal["planned", "going on", "over"] = Field(description="As of the farm's today.")
    actual: bool = Field(description="It has happened: it is no plan any more.")
    pinned: bool = Field(description="No plan moves it.")
    override_reason: str = Field(description=_REASON)


class NewStay(In):
    """A stay to add; planned when it starts after today."""

    batch_id: Id
    housing_id: Id
    birds: int = Field(ge=1, le=5000)
    start: Day
    end: Day | None = None
    pinned: bool = False
    override_reason: Text = Field("", max_length=200, description=_REASON)


class StayChange(In):
    """What is to be different; what is left out stays."""

    housing_id: Id = absent()
    birds: int = absent(ge=1, le=5000)
    start: Day = absent()
    end: Day | None = None
    pinned: bool = absent()
    override_reason: Text = absent(max_length=200, description=_REASON)


class NewMove(In):
    """Birds that go from one housing to another on a day; the rest stay."""

    from_id: Id
    to_id: Id
    birds: int = Field(ge=1, le=5000)
    day: Day
    override_reason: Text = Field("", max_length=200, description=_REASON)


class Wanted(pages.Paging):
    """Which stays."""

    batch_id: Id | None = None
    housing_id: Id | None = None
    start: Day | None = Field(None, alias="from", description="Those with this day or a later one.")
    end: Day | None = Field(None, alias="to", description="Those that start before this day.")
    order: Literal["id", "-id", "start", "-start"] = "start"


@router.get("/", response=Page[StayOut])
@needs(Role.CHILD, Scope.READ)
def list_stays(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List stays, of a batch, in a housing or over some days."""
    return pages.of(_filtered(request, query), query, lambda stay: _shape(request, stay), order=query.order)


@router.post("/", response={201: StayOut})
@needs(Role.KEEPER, Scope.WRITE)
def add_stay(request: ApiRequest, new: NewStay) -> Status:
    """Give part of a batch a housing for some days."""
    stay = stays.add(request.caller.by, **new.dict())
    request.location = f"{request.path}{stay.pk}/"
    return Status(201, _whole(request, stay.pk))


@router.get("/{stay_id}/", response=StayOut)
@needs(Role.CHILD, Scope.READ)
def get_stay(request: ApiRequest, stay_id: Id) -> dict[str, Any]:
    """Return one stay."""
    return _whole(request, stay_id)


@router.patch("/{stay_id}/", response=StayOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_stay(request: ApiRequest, stay_id: Id, change: StayChange) -> dict[str, Any]:
    """Change where, how many, from when or until when."""
    version = versions.expected(request)
    stays.change(request.caller.by, stay_id=stay_id, expected_version=version, **change.given())
    return _whole(request, stay_id)


@router.delete("/{stay_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_stay(request: ApiRequest, stay_id: Id) -> Status:
    """Take a stay out; its birds are without housing until they have another."""
    stays.remove(request.caller.by, stay_id=stay_id, expected_version=versions.expected(request))
    return Status(204, None)


@moves.post("/", response=StayOut)
@needs(Role.HELPER, Scope.WRITE)
def move_birds(request: ApiRequest, batch_id: Path[Id], move: NewMove) -> dict[str, Any]:
    """Move birds of a batch between housings, and return the stay they are in then.

    They take over the remaining days of the stay they leave. A planned stay that has the same birds go there later
    starts earlier instead.
    """
    stay = stays.move(request.caller.by, batch_id=batch_id, **move.dict())
    return _whole(request, stay.pk)


def _rows(request: ApiRequest) -> QuerySet[Stay]:
    return Stay.objects.filter(farm=request.caller.farm).select_related("batch", "housing")


def _filtered(request: ApiRequest, query: Wanted) -> QuerySet[Stay]:
    asked = {"batch_id": query.batch_id, "housing_id": query.housing_id, "start__lt": query.end}
    rows = _rows(request).filter(**{name: value for name, value in asked.items() if value is not None})
    return rows if query.start is None else rows.filter(Q(end__isnull=True) | Q(end__gt=query.start))


def _whole(request: ApiRequest, stay_id: int) -> dict[str, Any]:
    lookup.get(Stay, farm_id=request.caller.farm.pk, pk=stay_id)
    return _shape(request, versions.show(request, _rows(request).get(pk=stay_id)))


def _shape(request: ApiRequest, stay: Stay) -> dict[str, Any]:
    own = {name: getattr(stay, name) for name in StayOut.model_fields if hasattr(stay, name)}
    return own | {
        "batch": stay.batch.name,
        "housing": stay.housing.name,
        "state": read.when(stay, request.caller.by.today),
    }
