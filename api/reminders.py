"""Reminders: what a member wants to be told, and when."""

from __future__ import annotations

from typing import Annotated, Any

from ninja import Field, Path, Router, Schema

from api.core import versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.shapes import Clock, Id, In, absent
from api.models import Scope
from farm.models.member import Role
from farm.queries import reminders as read
from farm.services.reminders import own_channels, wishes

router = Router(tags=["Members"])

DayOfWeek = Annotated[int, Field(ge=0, le=6)]
_AT = "Null: not at all."
_QUIET = "Nothing is sent in the quiet hours; both times or neither."


class WishesOut(Schema):
    """What a member is told, and when, in the farm's time."""

    version: int
    saved: bool = Field(description="False: they never said; what suits most people is shown.")
    morning_at: Clock | None = Field(description=f"Before the morning round. {_AT}")
    midday_at: Clock | None = Field(description=f"Before the midday round. {_AT}")
    evening_at: Clock | None = Field(description=f"Before the evening round. {_AT}")
    outlook_weekday: DayOfWeek | None = Field(description=f"When the week ahead is told; Monday is 0. {_AT}")
    outlook_at: Clock
    changed: bool = Field(description="When their rounds change.")
    missed: bool = Field(description="When birds wait because somebody else missed a chore.")
    quiet_from: Clock | None = Field(description=_QUIET)
    quiet_to: Clock | None


class WishesChange(In):
    """What is to be different; what is left out stays."""

    morning_at: Clock | None = None
    midday_at: Clock | None = None
    evening_at: Clock | None = None
    outlook_weekday: DayOfWeek | None = None
    outlook_at: Clock = absent()
    changed: bool = absent()
    missed: bool = absent()
    quiet_from: Clock | None = None
    quiet_to: Clock | None = None


@router.get("/", response=WishesOut)
@needs(Role.CHILD, Scope.READ)
def get_reminders(request: ApiRequest, member_id: Path[Id]) -> dict[str, Any]:
    """Return what a member is told: one's own; keepers also of who can't sign in."""
    return _whole(request, member_id)


@router.patch("/", response=WishesOut)
@needs(Role.CHILD, Scope.PEOPLE, versioned=True)
def change_reminders(request: ApiRequest, member_id: Path[Id], change: WishesChange) -> dict[str, Any]:
    """Change what a member is told: one's own; keepers also of who can't sign in."""
    caller, version = request.caller, versions.expected(request)
    member = own_channels.member_of(caller.by, member_id)
    first = wishes.suggested(caller.farm) if read.wishes_of(member) is None else {}
    wishes.save(caller.by, member_id=member_id, expected_version=version, **first | change.given())
    return _whole(request, member_id)


def _whole(request: ApiRequest, member_id: int) -> dict[str, Any]:
    stored = read.wishes_of(own_channels.member_of(request.caller.by, member_id))
    if stored is None:
        request.shown_version = 0
        return wishes.suggested(request.caller.farm) | {"version": 0, "saved": False}
    own = {name: getattr(versions.show(request, stored), name) for name in ("version", *wishes.FIELDS)}
    return own | {"saved": True}
