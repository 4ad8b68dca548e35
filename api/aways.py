"""Days away: on which a member is given no work. Entered by themselves or a keeper, and taken back."""

from __future__ import annotations

from typing import Any

from ninja import Field, Path, Query, Router, Schema
from ninja.responses import Status

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text
from api.models import Scope
from farm.models import Away
from farm.models.member import Role
from farm.queries import aways as read
from farm.queries import lookup
from farm.services import aways

router = Router(tags=["Members"])
#: At a member's own address.
of_member = Router(tags=["Members"])


class AwayOut(Schema):
    """Days on which a member is away."""

    id: int
    member_id: int
    start: Day
    end: Day = Field(description="The day they are back, not included.")
    note: str
    outside: bool = Field(description="Read from a calendar of theirs; change it there.")


class NewAway(In):
    """Days away to enter. What was decided for those days goes to others."""

    start: Day
    end: Day = Field(description="The day they are back, not included.")
    note: Text = Field("", max_length=100, description="Everybody on the farm can read it.")


@of_member.get("/", response=Page[AwayOut])
@needs(Role.CHILD, Scope.READ)
def list_aways(request: ApiRequest, member_id: Path[Id], query: Query[pages.Paging]) -> dict[str, Any]:
    """List a member's days away that are not over; keepers anybody's, others their own."""
    by = request.caller.by
    member = aways.of(by, member_id)
    page = pages.of_list(read.of_member(member.pk, by.today), query)
    return page | {"items": [shape(away) for away in page["items"]]}


@of_member.post("/", response={201: AwayOut})
@needs(Role.CHILD, Scope.PEOPLE)
def add_away(request: ApiRequest, member_id: Path[Id], new: NewAway) -> Status:
    """Enter days away; keepers for anybody, others for themselves."""
    away = aways.add(request.caller.by, member_id=member_id, **new.dict())
    request.location = f"/api/v1/aways/{away.pk}/"
    return Status(201, shape(away))


@router.get("/{away_id}/", response=AwayOut)
@needs(Role.CHILD, Scope.READ)
def get_away(request: ApiRequest, away_id: Id) -> dict[str, Any]:
    """Return days away; keepers anybody's, others their own."""
    away = lookup.get(Away, farm_id=request.caller.farm.pk, pk=away_id)
    aways.of(request.caller.by, away.member_id)
    return shape(away)


@router.delete("/{away_id}/", response={204: None})
@needs(Role.CHILD, Scope.PEOPLE)
def remove_away(request: ApiRequest, away_id: Id) -> Status:
    """Take days away back: the member is there after all."""
    aways.remove(request.caller.by, away_id=away_id)
    return Status(204, None)


def shape(away: Away) -> dict[str, Any]:
    """Return days away as the API shows them."""
    own = {name: getattr(away, name) for name in AwayOut.model_fields}
    return own | {"outside": bool(away.outside)}
