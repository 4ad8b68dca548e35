"""The two ways in: signed in, or by a personal link, whose address alone is the permission."""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import wraps
from typing import Any
from zoneinfo import ZoneInfo

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import csrf_exempt

from farm.errors import BadInput, FarmError, NotFound
from farm.models import Farm, Member, PersonalLink
from farm.models.history import Face
from farm.models.member import Role
from farm.queries.tokens import token_hash
from farm.services import personal_links
from farm.services.actor import Actor, local_day
from farm.web import clock
from farm.web.access import FarmRequest, farm_page
from farm.web.my import brake

log = logging.getLogger(__name__)

NOTICE_DAYS = 30  # how long a switched-off link says so in words; project default (judgement)
#: What every answer at a personal link carries: for its reader alone, not indexed, its address given to nobody.
HEADERS = {
    "Cache-Control": "private, no-cache",
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex",
}


@dataclass(frozen=True, slots=True)
class Door:
    """Who came in, and how. link: None when signed in. base: the address of the page, with which its others begin."""

    farm: Farm
    member: Member
    by: Actor
    link: PersonalLink | None
    base: str

    @property
    def who(self) -> str:
        """Return what a phone keeps its copies and its queue apart by."""
        return f"member-{self.member.pk}" if self.link is None else f"link-{self.link.pk}"

    @property
    def may_count(self) -> bool:
        """Say whether deaths may be counted here."""
        return self.link is None and self.member.role != Role.CHILD


View = Callable[..., HttpResponse]


def signed_in(view: View) -> View:
    """Let members in who are signed in; the view gets their door."""

    @farm_page()
    @wraps(view)
    def page(request: FarmRequest, **arguments: Any) -> HttpResponse:
        visit = request.visit
        door = Door(visit.farm, visit.member, visit.by, None, reverse("my"))
        response = view(request, door, **arguments)
        response.headers.setdefault("Cache-Control", "private, no-cache")
        return response

    return page


def by_link(view: View) -> View:
    """Let in whoever has a personal link: no session, no cookie, no token against forged forms."""

    @csrf_exempt
    @wraps(view)
    def page(request: HttpRequest, link: str, **arguments: Any) -> HttpResponse:
        response = _answer(view, request, link, arguments)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        # Django logs refused requests with their path; the path is the secret.
        response._has_been_logged = True  # type: ignore[attr-defined]
        return response

    return page


def _answer(view: View, request: HttpRequest, secret: str, arguments: dict[str, Any]) -> HttpResponse:
    now = clock.now()
    try:
        link = personal_links.opened(secret, now=now)
    except NotFound:
        return _closed(request, secret, now)
    farm, member = link.farm, link.member
    today = local_day(farm, now)
    by = Actor(farm_id=farm.pk, face=Face.PAGE, now=now, today=today, member=member)
    _note_use(link, by)
    with timezone.override(ZoneInfo(farm.time_zone)):
        try:
            return view(request, Door(farm, member, by, link, reverse("my-link", args=[secret])), **arguments)
        except FarmError as error:
            status = 422 if isinstance(error, BadInput) else 404 if isinstance(error, NotFound) else 403
            return said(request, str(error), status)


def said(request: HttpRequest, text: str, status: int = 200) -> HttpResponse:
    """Answer with one sentence on a page that no phone keeps a copy of."""
    response = render(request, "web/my/said.html", {"text": text}, status=status)
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _closed(request: HttpRequest, secret: str, now: datetime) -> HttpResponse:
    """Answer what opens nothing: switched off lately, long ago, or never known."""
    link = PersonalLink.objects.filter(token_sha256=token_hash(secret)).first()
    if link is None:
        wait = brake.missed(request.META.get("REMOTE_ADDR", ""))
        if not wait:
            return said(request, _("There is no such page."), 404)
        response = said(request, _("Too many wrong addresses. Try again later."), 429)
        response.headers["Retry-After"] = str(wait)
        return response
    recent = link.revoked_at is not None and now < link.revoked_at + timedelta(days=NOTICE_DAYS)
    text = _("This link was switched off. Ask a keeper of your farm for a new one.")
    return said(request, text, 200 if recent and request.method in ("GET", "HEAD") else 410)


def _note_use(link: PersonalLink, by: Actor) -> None:
    """Note the day of use; a database too busy to note it must not keep the chores from being read."""
    try:
        personal_links.used(link, by.today)
    except DatabaseError:
        log.warning("the last use of personal link %s was not noted", link.pk)
