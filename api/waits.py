"""Waiting times: days after a medicine before meat or eggs may be eaten or sold, as people typed them."""

from __future__ import annotations

from typing import Any

from ninja import Field, Path, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text, absent
from api.models import Scope
from farm.models import Batch, WaitingTime
from farm.models.feed import Product
from farm.models.member import Role
from farm.queries import lookup
from farm.queries import waits as read
from farm.services import waits

router = Router(tags=["Waiting times"])
#: At a batch's own address.
of_batch = Router(tags=["Waiting times"])

_GIVEN = "The last day; while they still get it today, moved on as long as it is given."
_DAYS = "From the label or the vet: nothing here knows them."


class WaitOut(Schema):
    """Days to wait, as somebody typed them from the label or as the vet said."""

    id: int
    version: int
    batch_id: int
    what: str
    given_on: Day = Field(description=_GIVEN)
    days: int = Field(description=_DAYS)
    product: Product
    note: str
    allowed_on: Day = Field(description="First day on which it may be eaten or sold again.")
    binds: bool = Field(description="Today it may not.")


class NewWait(In):
    """Days to wait of a batch."""

    what: Text = Field(max_length=100, description="What was given, as on the label.")
    given_on: Day = Field(description=_GIVEN)
    days: int = Field(ge=0, le=waits.MOST_DAYS, description=_DAYS)
    product: Product = Product.MEAT
    note: Text = Field("", max_length=200)


class WaitChange(In):
    """What is to be different; what is left out stays."""

    what: Text = absent(max_length=100)
    given_on: Day = absent(description=_GIVEN)
    days: int = absent(ge=0, le=waits.MOST_DAYS, description=_DAYS)
    product: Product = absent()
    note: Text = absent(max_length=200)


@of_batch.get("/", response=Page[WaitOut])
@needs(Role.CHILD, Scope.READ)
def list_waits(request: ApiRequest, batch_id: Path[Id], query: Query[pages.Paging]) -> dict[str, Any]:
    """List the waiting times of a batch, those that end last first."""
    batch = lookup.get(Batch, farm_id=request.caller.farm.pk, pk=batch_id)
    page = pages.of_list(read.rows(batch, request.caller.by.today), query)
    return page | {"items": [_shape(row) for row in page["items"]]}


@of_batch.post("/", response={201: WaitOut})
@needs(Role.HELPER, Scope.RECORD)
def add_wait(request: ApiRequest, batch_id: Path[Id], new: NewWait) -> Status:
    """Enter days to wait of a batch."""
    wait = waits.add(request.caller.by, batch_id=batch_id, **new.dict())
    request.location = f"/api/v1/waits/{wait.pk}/"
    return Status(201, _whole(request, wait.pk))


@router.get("/{wait_id}/", response=WaitOut)
@needs(Role.CHILD, Scope.READ)
def get_wait(request: ApiRequest, wait_id: Id) -> dict[str, Any]:
    """Return one waiting time."""
    return _whole(request, wait_id)


@router.patch("/{wait_id}/", response=WaitOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_wait(request: ApiRequest, wait_id: Id, change: WaitChange) -> dict[str, Any]:
    """Change days to wait: the last day it was given moves on while it is given."""
    version = versions.expected(request)
    waits.change(request.caller.by, wait_id=wait_id, expected_version=version, **change.given())
    return _whole(request, wait_id)


@router.delete("/{wait_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_wait(request: ApiRequest, wait_id: Id) -> Status:
    """Remove days to wait that were entered by mistake."""
    waits.remove(request.caller.by, wait_id=wait_id, expected_version=versions.expected(request))
    return Status(204, None)


def _whole(request: ApiRequest, wait_id: int) -> dict[str, Any]:
    wait = lookup.get(WaitingTime, farm_id=request.caller.farm.pk, pk=wait_id)
    versions.show(request, wait)
    rows = read.rows(wait.batch, request.caller.by.today)
    return _shape(next(row for row in rows if row.wait.pk == wait.pk))


def _shape(row: read.Row) -> dict[str, Any]:
    own = {name: getattr(row.wait, name) for name in WaitOut.model_fields if hasattr(row.wait, name)}
    return own | {"allowed_on": row.allowed_on, "binds": row.binds}
