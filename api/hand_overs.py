"""Birds handed over for the lines of orders, and taken back."""

from __future__ import annotations

from typing import Any, Literal

from django.db.models import QuerySet
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api import order_shapes as shapes
from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text
from api.models import Scope
from api.order_shapes import Birds, HandOverOut
from farm.models import Filling, OrderLine
from farm.models.member import Role
from farm.queries import lookup
from farm.queries import orders as queries
from farm.services import fillings, offline

router = Router(tags=["Orders"])


class NewHandOver(In):
    """Birds that went to a customer."""

    line_id: Id
    batch_id: Id
    birds: Birds
    day: Day
    anyway: bool = Field(False, description="Also birds meant for orders that come first; keepers only.")
    override_reason: Text = Field(
        "",
        max_length=200,
        description="Why they go before days to wait after a medicine are over; keepers only.",
    )
    key: Text = Field(
        "",
        max_length=offline.MOST_KEY,
        description="The program's own; sent again, the first one is answered.",
    )


class CandidateOut(Schema):
    """A batch here that a line could get birds from."""

    batch_id: int
    batch: str
    alive: int
    free: int = Field(description="Not held, nor meant for lines before it.")
    meant: int = Field(description="Meant for this line.")
    age_days: int


class Wanted(pages.Paging):
    """Which hand-overs."""

    order_id: Id | None = None
    batch_id: Id | None = None
    from_: Day | None = Field(None, alias="from")
    to: Day | None = Field(None, description="Before this day.")
    order: Literal["id", "-id", "day", "-day"] = "-day"


class WhichLine(pages.Paging):
    """For which line."""

    line_id: Id


@router.get("/", response=Page[HandOverOut])
@needs(Role.HELPER, Scope.READ)
def list_hand_overs(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List what was handed over, the latest first."""
    asked = {
        "line__order_id": query.order_id,
        "batch_id": query.batch_id,
        "day__gte": query.from_,
        "day__lt": query.to,
    }
    rows = _rows(request).filter(**{name: value for name, value in asked.items() if value is not None})
    return pages.of(rows, query, shapes.hand_over, order=query.order)


@router.post("/", response={201: HandOverOut})
@needs(Role.HELPER, Scope.RECORD)
def hand_birds_over(request: ApiRequest, new: NewHandOver) -> Status:
    """Give birds of a batch to a confirmed order's line; the ledger of the batch says "sold"."""
    caller = request.caller
    filling = fillings.hand_over(
        caller.by,
        client_key=offline.kept_key(caller.member, new.key) if new.key else "",
        **new.dict(exclude={"key"}),
    )
    request.location = f"{request.path}{filling.pk}/"
    return Status(201, shapes.hand_over(filling))


@router.get("/candidates/", response=Page[CandidateOut])
@needs(Role.HELPER, Scope.READ)
def list_candidates(request: ApiRequest, query: Query[WhichLine]) -> dict[str, Any]:
    """List the batches here that suit a line: those meant for it first, then those with most birds free."""
    line = lookup.get(OrderLine, farm_id=request.caller.farm.pk, pk=query.line_id)
    found = [
        {
            "batch_id": one.batch.pk,
            "batch": one.batch.name,
            "alive": one.alive,
            "free": one.free,
            "meant": one.meant,
            "age_days": one.age_days,
        }
        for one in queries.candidates(line, request.caller.by.today)
    ]
    return pages.of_list(found, query)


@router.get("/{filling_id}/", response=HandOverOut)
@needs(Role.HELPER, Scope.READ)
def get_hand_over(request: ApiRequest, filling_id: Id) -> dict[str, Any]:
    """Return one hand-over."""
    return shapes.hand_over(lookup.get(Filling, farm_id=request.caller.farm.pk, pk=filling_id))


@router.delete("/{filling_id}/", response={204: None})
@needs(Role.HELPER, Scope.RECORD)
def take_birds_back(request: ApiRequest, filling_id: Id) -> Status:
    """Take a hand-over back: the birds are in the ledger of their batch again."""
    fillings.take_back(request.caller.by, filling_id=filling_id)
    return Status(204, None)


def _rows(request: ApiRequest) -> QuerySet[Filling]:
    return Filling.objects.filter(farm=request.caller.farm).select_related("batch", "member")
