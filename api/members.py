"""Members: the people of a farm. Added, changed, invited, leaving."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.aways import AwayOut
from api.aways import shape as away_shape
from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Id, In, Text, Whole, absent
from api.models import Scope
from farm.errors import NotFound
from farm.models import Member
from farm.models.member import Role
from farm.queries import lookup
from farm.queries import members as read
from farm.services import members
from farm.services.member_rules import DETAILS
from farm.web.people import letters

router = Router(tags=["Members"])

_SEEN_BY = "Null: only keepers and the member see it."
_ROUNDS = "When they are there: Monday morning 0, midday 1, evening 2, Tuesday morning 3 … Sunday evening 20."
_MINUTES = "Minutes of work they want in a week at most; null: no limit."
_SHARE = "Their part of the work in hundredths of a full part."


class MemberOut(Schema):
    """A person on the farm."""

    id: int
    version: int
    name: str
    role: Role
    adult: bool = Field(description="18 or older.")
    signs_in: bool
    email: str | None = Field(description="What they sign in with. Null: only keepers see it.")
    invited_until: datetime | None = Field(description="End of an invitation that is open.")
    rounds: list[int] = Field(description=_ROUNDS)
    share: int = Field(description=_SHARE)
    away: list[AwayOut] = Field(description="Days away that are not over.")
    can_heat: bool | None = Field(description=f"Handles heat equipment. {_SEEN_BY}")
    can_lift: bool | None = Field(description=_SEEN_BY)
    can_water: bool | None = Field(description=_SEEN_BY)
    can_dose: bool | None = Field(description=f"Gives medicine. {_SEEN_BY}")
    can_slaughter: bool | None = Field(description=_SEEN_BY)
    max_week_minutes: int | None = Field(description=f"{_MINUTES} Only keepers and the member see it.")
    prefers: list[str] | None = Field(description=f"Keys of chores they like. {_SEEN_BY}")
    refuses: list[str] | None = Field(description=f"Keys of chores they don't do. {_SEEN_BY}")


class MemberChange(In):
    """What is to be different; what is left out stays."""

    name: Text = absent(max_length=80)
    role: Role = absent(description="Who becomes a child loses what a child may never have.")
    adult: bool = absent()
    can_heat: bool = absent()
    can_lift: bool = absent()
    can_water: bool = absent()
    can_dose: bool = absent()
    can_slaughter: bool = absent()
    rounds: list[Whole] = absent(max_length=21, description=_ROUNDS)
    max_week_minutes: Whole | None = Field(None, description=_MINUTES)
    share: Whole = absent(description=_SHARE)
    prefers: list[Text] = absent(max_length=200, description="Keys of chores.")
    refuses: list[Text] = absent(max_length=200, description="Keys of chores.")


class NewMember(MemberChange):
    """A member to add, without a login; what is left out is as usual for the role."""

    name: Text = Field(max_length=80)
    role: Role


class NewInvitation(In):
    """Where the invitation is sent."""

    email: Text = Field("", max_length=254, description="Nobody is written to when it is empty.")


class InvitationOut(Schema):
    """An invitation, shown this once."""

    address: str = Field(description="Whoever opens it gets a login on the farm. Treat it as a password.")
    days: int = Field(description="How long it holds.")
    sent: bool = Field(description="It was handed to the mail server.")


@router.get("/", response=Page[MemberOut])
@needs(Role.CHILD, Scope.READ)
def list_members(request: ApiRequest, query: Query[pages.Paging]) -> dict[str, Any]:
    """List the members who have not left, by name."""
    page = pages.of_list(_present(request), query)
    return page | {"items": [_shape(request, person) for person in page["items"]]}


@router.post("/", response={201: MemberOut})
@needs(Role.KEEPER, Scope.PEOPLE)
def add_member(request: ApiRequest, new: NewMember) -> Status:
    """Add a member without a login; invite them if they shall sign in."""
    member = members.add(request.caller.by, **new.given())
    request.location = f"{request.path}{member.pk}/"
    return Status(201, _whole(request, member.pk))


@router.get("/{member_id}/", response=MemberOut)
@needs(Role.CHILD, Scope.READ)
def get_member(request: ApiRequest, member_id: Id) -> dict[str, Any]:
    """Return one member."""
    return _whole(request, member_id)


@router.patch("/{member_id}/", response=MemberOut)
@needs(Role.KEEPER, Scope.PEOPLE, versioned=True)
def change_member(request: ApiRequest, member_id: Id, change: MemberChange) -> dict[str, Any]:
    """Change what is known of a member. A farm keeps at least one keeper with a login."""
    version = versions.expected(request)
    members.change(request.caller.by, member_id=member_id, expected_version=version, **change.given())
    return _whole(request, member_id)


@router.post("/{member_id}/invitation/", response=InvitationOut)
@needs(Role.KEEPER, Scope.PEOPLE, outward=True)
def invite_member(request: ApiRequest, member_id: Id, new: NewInvitation) -> dict[str, Any]:
    """Make the address that gives a member a login, once; an older one stops working."""
    secret = members.invite(request.caller.by, member_id=member_id, email=new.email)
    member = lookup.get(Member, farm_id=request.caller.farm.pk, pk=member_id)
    address, email = letters.address(secret), new.email.strip()
    sent = bool(email) and letters.send(request.caller.member, member, address, email)
    return {"address": address, "days": members.INVITATION_DAYS, "sent": sent}


@router.post("/{member_id}/leave/", response={204: None})
@needs(Role.HELPER, Scope.PEOPLE)
def leave_farm(request: ApiRequest, member_id: Id) -> Status:
    """Take a member off the farm, keepers anybody, helpers themselves. What they recorded stays."""
    members.leave(request.caller.by, member_id=member_id)
    return Status(204, None)


def _present(request: ApiRequest) -> list[read.Person]:
    by = request.caller.by
    return read.present(by.farm_id, by.now, by.today)


def _whole(request: ApiRequest, member_id: int) -> dict[str, Any]:
    lookup.get(Member, farm_id=request.caller.farm.pk, pk=member_id)
    person = next((one for one in _present(request) if one.member.pk == member_id), None)
    if person is None:
        raise NotFound(_("This member has left the farm."))
    versions.show(request, person.member)
    return _shape(request, person)


def _shape(request: ApiRequest, person: read.Person) -> dict[str, Any]:
    member, asks = person.member, request.caller.member
    keeper = asks.role == Role.KEEPER
    private = DETAILS - {"adult", "rounds", "share"}
    shown = DETAILS if keeper or asks.pk == member.pk else DETAILS - private
    return (
        dict.fromkeys(private)
        | {name: getattr(member, name) for name in ("id", "version", "name", "role", *shown)}
        | {
            "signs_in": member.login is not None,
            "email": member.login.email if keeper and member.login else None,
            "invited_until": person.invited_until,
            "away": [away_shape(away) for away in person.away],
        }
    )
