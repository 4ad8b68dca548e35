"""Holds: birds of a batch kept out of orders."""

from __future__ import annotations

from typing import Any

from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Id, In, Text, absent
from api.models import Scope
from api.order_shapes import Birds
from farm.models import Hold
from farm.models.member import Role
from farm.models.order import WantedSex
from farm.queries import lookup
from farm.services import holds

router = Router(tags=["Orders"])


class HoldOut(Schema):
    """Birds of a batch kept back."""

    id: int
    version: int
    batch_id: int
    batch: str
    birds: int
    sex: WantedSex
    reason: str


class NewHold(In):
    """Birds to keep back."""

    batch_id: Id
    birds: Birds
    sex: WantedSex = WantedSex.ANY
    reason: Text = Field("", max_length=200)


class HoldChange(In):
    """What is to be different; what is left out stays."""

    birds: Birds = absent()
    sex: WantedSex = absent()
    reason: Text = absent(max_length=200)


class Wanted(pages.Paging):
    """Which holds."""

    batch_id: Id | None = None


@router.get("/", response=Page[HoldOut])
@needs(Role.HELPER, Scope.READ)
def list_holds(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the birds kept out of orders."""
    rows = Hold.objects.filter(farm=request.caller.farm).select_related("batch")
    if query.batch_id is not None:
        rows = rows.filter(batch_id=query.batch_id)
    return pages.of(rows, query, shape)


@router.post("/", response={201: HoldOut})
@needs(Role.KEEPER, Scope.WRITE)
def add_hold(request: ApiRequest, new: NewHold) -> Status:
    """Keep birds of a batch out of orders, hatched or only expected."""
    hold = holds.add(request.caller.by, **new.dict())
    request.location = f"{request.path}{hold.pk}/"
    return Status(201, shape(versions.show(request, hold)))


@router.get("/{hold_id}/", response=HoldOut)
@needs(Role.HELPER, Scope.READ)
def get_hold(request: ApiRequest, hold_id: Id) -> dict[str, Any]:
    """Return one hold."""
    return _whole(request, hold_id)


@router.patch("/{hold_id}/", response=HoldOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_hold(request: ApiRequest, hold_id: Id, change: HoldChange) -> dict[str, Any]:
    """Keep more or fewer back."""
    version = versions.expected(request)
    holds.change(request.caller.by, hold_id=hold_id, expected_version=version, **change.given())
    return _whole(request, hold_id)


@router.delete("/{hold_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_hold(request: ApiRequest, hold_id: Id) -> Status:
    """Let the birds of a hold go to orders again."""
    holds.remove(request.caller.by, hold_id=hold_id, expected_version=versions.expected(request))
    return Status(204, None)


def shape(hold: Hold) -> dict[str, Any]:
    """Return a hold, its batch read along."""
    own = ("id", "version", "batch_id", "birds", "sex", "reason")
    return {name: getattr(hold, name) for name in own} | {"batch": hold.batch.name}


def _whole(request: ApiRequest, hold_id: int) -> dict[str, Any]:
    return shape(versions.show(request, lookup.get(Hold, farm_id=request.caller.farm.pk, pk=hold_id)))
