"""Calendar links over the API. It is here, not in `api`, because the API knows nothing of calendars."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, Literal

from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page, Paging
from api.core.shapes import Id, In, Text
from api.models import Scope as May
from calendars import choices, queries, services
from calendars.choices import Rounds
from calendars.editions import Options
from calendars.models import CalendarLink
from farm.models.member import Role

#: Spelt out, because the schema already has a `Scope`: what tokens may.
Shows = Literal["mine", "farm", "housing", "batch", "orders", "outlook"]

router = Router(tags=["Calendar links"])


class LinkOut(Schema):
    """A secret address that opens one calendar. The address is shown when it is made, never again."""

    id: int
    member_id: int
    label: str
    scope: Shows
    about: int | None = Field(description="Number of the housing or batch it is about.")
    language: str
    zone: str = Field(description="IANA name; empty for the farm's.")
    alarm_minutes: int | None = Field(description="Alarm so long before; null for none.")
    rounds: Rounds
    back_days: int
    ahead_days: int
    created_at: datetime
    last_used_on: date | None
    on: bool


class MadeLink(LinkOut):
    """A new link with its address, which is shown this once."""

    address: str
    webcal: str = Field(description="The same address in the form that opens a calendar app.")


class NewLink(In):
    """A link to make. A keeper may make one for anybody, others for themselves."""

    label: Text = Field(min_length=1, max_length=60)
    member_id: Id | None = Field(None, description="Whose; your own when left out.")
    scope: Shows = "mine"
    housing_id: Id | None = None
    batch_id: Id | None = None
    language: Text = Field("", max_length=16)
    zone: Text = Field("", max_length=64)
    alarm_minutes: int | None = Field(None, ge=0, le=choices.MOST_ALARM_MINUTES)
    rounds: Rounds = Rounds.TIMED
    back_days: int = Field(choices.PAST_DAYS, ge=0, le=choices.MOST_PAST_DAYS)
    ahead_days: int = Field(choices.AHEAD_DAYS, ge=choices.LEAST_AHEAD_DAYS, le=choices.MOST_AHEAD_DAYS)


class Wanted(Paging):
    """Which links."""

    member_id: Id | None = None
    on: bool | None = Field(None, description="Only those that still work, or only those that do not.")


@router.get("/", response=Page[LinkOut])
@needs(Role.CHILD, May.PEOPLE)
def list_calendar_links(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List calendar links: a keeper all of the farm, others their own."""
    rows = queries.links_seen_by(request.caller.member)
    if query.member_id is not None:
        rows = rows.filter(member_id=query.member_id)
    if query.on is not None:
        rows = rows.filter(revoked_at__isnull=query.on)
    return pages.of(rows, query, _shape)


@router.post("/", response={201: MadeLink})
@needs(Role.CHILD, May.PEOPLE)
def make_calendar_link(request: ApiRequest, new: NewLink) -> Status:
    """Make a calendar link. Its address is in this answer alone."""
    by = request.caller.by
    options = {
        name: getattr(new, name) for name in ("zone", "alarm_minutes", "rounds", "back_days", "ahead_days")
    }
    link, secret = services.make_link(
        by,
        member_id=new.member_id or request.caller.member.pk,
        options=Options(**options),
        **new.dict(include={"label", "scope", "language", "housing_id", "batch_id"}),
    )
    return Status(201, _made(link, secret))


@router.post("/{link_id}/new-address/", response={201: MadeLink})
@needs(Role.CHILD, May.PEOPLE)
def give_calendar_link_a_new_address(request: ApiRequest, link_id: Id) -> Status:
    """Give a link a new address; the old one answers as switched off."""
    return Status(201, _made(*services.rotate_link(request.caller.by, link_id=link_id)))


@router.delete("/{link_id}/", response={204: None})
@needs(Role.CHILD, May.PEOPLE)
def switch_calendar_link_off(request: ApiRequest, link_id: Id) -> Status:
    """Switch a link off at once; twice is once."""
    services.revoke_link(request.caller.by, link_id=link_id)
    return Status(204, None)


def _made(link: CalendarLink, secret: str) -> dict[str, Any]:
    found = queries.addresses(secret)
    return _shape(link) | {"address": found.https, "webcal": found.webcal}


def _shape(link: CalendarLink) -> dict[str, Any]:
    names = ("id", "member_id", "label", "scope", "about", "language", "zone", "alarm_minutes", "rounds")
    more = ("back_days", "ahead_days", "created_at", "last_used_on")
    return {name: getattr(link, name) for name in (*names, *more)} | {"on": link.revoked_at is None}
