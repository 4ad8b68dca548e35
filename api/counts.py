"""Count entries: the ledger of a batch. Lines are added, never edited; a mistake is taken back by its opposite."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from ninja import Field, Path, Query, Router, Schema
from ninja.responses import Status

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text
from api.models import Scope
from farm.models import Batch, CountEntry
from farm.models.count_entry import CountKind
from farm.models.member import Role
from farm.queries import batches as read
from farm.queries import lookup
from farm.services import counts
from farm.services.counts import MOST_BIRDS

router = Router(tags=["Counts"])
#: At a batch's own address.
of_batch = Router(tags=["Counts"])


class CountOut(Schema):
    """One line of a batch's ledger."""

    id: int
    batch_id: int
    kind: CountKind
    birds: int = Field(description="Above 0 for birds that came, below 0 for those that went.")
    day: Day
    alive: int = Field(description="Birds of the batch after this line.")
    struck: bool = Field(description="It was taken back, or takes another line back.")
    housing_id: int | None
    housing: str | None
    note: str
    override_reason: str = Field(description="Why they went before days to wait after a medicine were over.")
    reverses_id: int | None = Field(description="The line that this one takes back.")
    member: str | None = Field(description="Who counted.")
    created_at: datetime


class NewCount(In):
    """What happened to birds of the batch."""

    kind: Literal["arrived", "hatched", "found", "died", "culled", "sold", "processed", "kept_back"]
    birds: int = Field(ge=1, le=MOST_BIRDS, description="How many; the kind decides the sign.")
    day: Day
    housing_id: Id | None = None
    note: Text = Field("", max_length=200)
    override_reason: Text = Field(
        "", max_length=200, description="Why they go before days to wait are over; keepers only."
    )
    key: Text = Field("", max_length=64, description="A device's own key: sent twice, it is one line.")


@of_batch.get("/", response=Page[CountOut])
@needs(Role.CHILD, Scope.READ)
def list_counts(request: ApiRequest, batch_id: Path[Id], query: Query[pages.Paging]) -> dict[str, Any]:
    """List the ledger of a batch, newest first."""
    batch = lookup.get(Batch, farm_id=request.caller.farm.pk, pk=batch_id)
    page = pages.of_list(read.ledger(batch), query)
    return page | {"items": [_shape(line) for line in page["items"]]}


@of_batch.post("/", response={201: CountOut})
@needs(Role.HELPER, Scope.RECORD)
def add_count(request: ApiRequest, batch_id: Path[Id], new: NewCount) -> Status:
    """Add a line to the ledger of a batch."""
    fields = new.dict()
    entry = counts.add(request.caller.by, batch_id=batch_id, client_key=fields.pop("key"), **fields)
    return _made(request, entry)


@router.get("/{count_id}/", response=CountOut)
@needs(Role.CHILD, Scope.READ)
def get_count(request: ApiRequest, count_id: Id) -> dict[str, Any]:
    """Return one line of a ledger."""
    return _whole(request, count_id)


@router.post("/{count_id}/reverse/", response={201: CountOut})
@needs(Role.HELPER, Scope.RECORD)
def reverse_count(request: ApiRequest, count_id: Id) -> Status:
    """Take a line back by adding its opposite, which is returned."""
    return _made(request, counts.reverse(request.caller.by, entry_id=count_id))


def _made(request: ApiRequest, entry: CountEntry) -> Status:
    request.location = f"/api/v1/counts/{entry.pk}/"
    return Status(201, _whole(request, entry.pk))


def _whole(request: ApiRequest, count_id: int) -> dict[str, Any]:
    entry = lookup.get(CountEntry, farm_id=request.caller.farm.pk, pk=count_id)
    return _shape(next(line for line in read.ledger(entry.batch) if line.entry.pk == entry.pk))


def _shape(line: read.Line) -> dict[str, Any]:
    entry = line.entry
    own = {name: getattr(entry, name) for name in CountOut.model_fields if hasattr(entry, name)}
    return own | {
        "alive": line.alive,
        "struck": line.struck,
        "housing": entry.housing.name if entry.housing else None,
        "member": entry.member.name if entry.member else None,
    }
