"""The farm itself: its settings, who asks, and which farms whoever asks may open."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from ninja import Field, Query, Router, Schema

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Clock, Day, In, Number, Text, absent
from api.models import Scope
from farm.models import Farm, Member
from farm.models.farm import Units
from farm.models.member import Role
from farm.services import farms
from farm.web.access import memberships

router = Router(tags=["Farm"])
#: The farms of whoever asks.
mine = Router(tags=["Farm"])

_WEEKDAYS = "Monday is 0."
DayOfWeek = Annotated[int, Field(ge=0, le=6)]


class FarmOut(Schema):
    """The farm's settings. `version` rises with every write on the farm, whatever it is about."""

    id: int
    version: int
    name: str
    time_zone: str = Field(description="For example Europe/Berlin.")
    units: Units = Field(description="Of the pages; the API speaks SI always.")
    first_weekday: DayOfWeek = Field(description=_WEEKDAYS)
    latitude: float | None
    longitude: float | None
    morning_at: Clock = Field(description="When the rounds of a day begin, in the farm's time.")
    midday_at: Clock
    evening_at: Clock
    move_weekdays: list[DayOfWeek] = Field(description=f"Days that suit for moving birds. {_WEEKDAYS}")
    today: Day = Field(description="The farm's local day: what “today” means in all answers.")
    is_demo: bool
    closing_on: Day | None = Field(description="The farm is closed and may be removed from this day on.")


class FarmChange(In):
    """What is to be different; what is left out stays."""

    name: Text = absent(max_length=80)
    time_zone: Text = absent(max_length=64)
    move_days: bool = absent(
        description="True: I know that with another time zone readings near midnight may count for another day."
    )
    units: Units = absent()
    first_weekday: DayOfWeek = absent(description=_WEEKDAYS)
    latitude: Number | None = None
    longitude: Number | None = None
    morning_at: Clock = absent()
    midday_at: Clock = absent()
    evening_at: Clock = absent()
    move_weekdays: list[DayOfWeek] = absent(max_length=7, description=_WEEKDAYS)


class CallerOut(Schema):
    """Who asks."""

    member_id: int
    name: str
    role: Role
    scopes: list[Scope] = Field(description="What may be done, as far as the role allows; of a session all.")
    token: str | None = Field(description="What the token is for; null for a session of the pages.")
    expires_at: datetime | None = Field(description="When the token ends.")


class FarmListed(Schema):
    """A farm that whoever asks may open: with a token the token's own alone."""

    id: int
    name: str
    member_id: int
    role: Role
    closed: bool
    current: bool = Field(description="The farm that this request is answered for.")


@router.get("/", response=FarmOut)
@needs(Role.CHILD, Scope.READ)
def get_farm(request: ApiRequest) -> dict[str, Any]:
    """Return the farm's settings and its local day."""
    return _whole(request, request.caller.farm)


@router.patch("/", response=FarmOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_farm(request: ApiRequest, change: FarmChange) -> dict[str, Any]:
    """Change the farm's settings. If-Match fails only when the settings themselves were changed since."""
    version = versions.expected(request)
    return _whole(request, farms.change(request.caller.by, expected_version=version, **change.given()))


@router.get("/me/", response=CallerOut)
@needs(Role.CHILD, Scope.READ)
def get_caller(request: ApiRequest) -> dict[str, Any]:
    """Return who asks and what they may do."""
    member, token = request.caller.member, request.caller.token
    return {
        "member_id": member.pk,
        "name": member.name,
        "role": member.role,
        "scopes": token.scopes if token else list(Scope.values),
        "token": token.label if token else None,
        "expires_at": token.expires_at if token else None,
    }


@mine.get("/", response=Page[FarmListed])
@needs(Role.CHILD, Scope.READ)
def list_farms(request: ApiRequest, query: Query[pages.Paging]) -> dict[str, Any]:
    """List the farms that whoever asks may open, by name."""
    caller = request.caller
    login = caller.member.login
    rows = [caller.member] if caller.token or login is None else memberships(login)
    page = pages.of_list(rows, query)
    return page | {"items": [_listed(member, caller.farm) for member in page["items"]]}


def _whole(request: ApiRequest, farm: Farm) -> dict[str, Any]:
    request.shown_version = farm.version
    own = {name: getattr(farm, name) for name in FarmOut.model_fields if hasattr(farm, name)}
    return own | {"today": request.caller.by.today}


def _listed(member: Member, current: Farm) -> dict[str, Any]:
    return {
        "id": member.farm_id,
        "name": member.farm.name,
        "member_id": member.pk,
        "role": member.role,
        "closed": member.farm.closing_on is not None,
        "current": member.farm_id == current.pk,
    }
