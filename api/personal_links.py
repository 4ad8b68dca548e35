"""Personal links: secret addresses that open one member's rounds for ticking, without a login."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.conf import settings
from ninja import Field, Path, Query, Router, Schema
from ninja.responses import Status

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text
from api.models import Scope
from farm.models.member import Role
from farm.services import personal_links

router = Router(tags=["Members"])
#: At a member's own address.
of_member = Router(tags=["Members"])


class PersonalLinkOut(Schema):
    """A personal link. Its address was shown once, when it was made."""

    id: int
    label: str
    created_at: datetime
    last_used_on: Day | None
    revoked_at: datetime | None = Field(description="Since when it opens nothing any more.")


class NewPersonalLink(In):
    """A link to make."""

    label: Text = Field(max_length=60, description="What it is for, such as a telephone.")


class PersonalLinkMade(Schema):
    """A link, shown this once."""

    address: str = Field(description="Whoever has it ticks in the member's name. Treat it as a password.")


@of_member.get("/", response=Page[PersonalLinkOut])
@needs(Role.CHILD, Scope.READ)
def list_personal_links(
    request: ApiRequest, member_id: Path[Id], query: Query[pages.Paging]
) -> dict[str, Any]:
    """List a member's personal links; keepers anybody's, others their own."""
    member = personal_links.of(request.caller.by, member_id)
    return pages.of(member.personal_links.all(), query, lambda link: link)


@of_member.post("/", response=PersonalLinkMade)
@needs(Role.CHILD, Scope.PEOPLE)
def make_personal_link(request: ApiRequest, member_id: Path[Id], new: NewPersonalLink) -> dict[str, Any]:
    """Make a personal link; keepers for anybody, others for themselves."""
    secret = personal_links.make(request.caller.by, member_id=member_id, label=new.label)
    return {"address": f"{settings.ADDRESS}/my/{secret}/"}


@router.delete("/{link_id}/", response={204: None})
@needs(Role.CHILD, Scope.PEOPLE)
def switch_personal_link_off(request: ApiRequest, link_id: Id) -> Status:
    """Switch a link off at once; keepers anybody's, others their own."""
    personal_links.revoke(request.caller.by, link_id=link_id)
    return Status(204, None)
