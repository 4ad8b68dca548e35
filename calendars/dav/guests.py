"""Who is asking: Basic authentication (RFC 7617) with a member's user name and an app password."""

from __future__ import annotations

import base64
import binascii
import logging
from dataclasses import dataclass
from datetime import datetime

from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse

from calendars.dav import brake, passwords
from farm.models import Farm, Member
from farm.models.history import Face
from farm.services.actor import Actor, local_day

log = logging.getLogger(__name__)

REALM = 'Basic realm="Featherdays", charset="UTF-8"'


@dataclass(frozen=True, slots=True)
class Guest:
    """A task app of a member. by: what it does, it does as that member."""

    member: Member
    by: Actor

    @property
    def farm(self) -> Farm:
        """Return the member's farm."""
        return self.member.farm

    @property
    def name(self) -> str:
        """Return the user name, which stands in the member's addresses too."""
        return passwords.user_name(self.member)


def come_in(request: HttpRequest, now: datetime) -> Guest | HttpResponse:
    """Return who is asking, or what to answer instead: 401, or 429 after too many wrong tries."""
    name, secret = credentials(request.META.get("HTTP_AUTHORIZATION", ""))
    password = passwords.opened(name, secret) if name and secret else None
    if password is None:
        wait = brake.missed(request.META.get("REMOTE_ADDR", ""), name) if secret else 0
        return _wait(wait) if wait else _who_is_there()
    member = password.member
    by = Actor(
        farm_id=member.farm_id,
        face=Face.CALENDAR,
        now=now,
        today=local_day(member.farm, now),
        member=member,
    )
    try:
        passwords.used(password, by.today)
    except DatabaseError:
        log.warning("the last use of app password %s was not noted", password.pk)
    return Guest(member, by)


def credentials(header: str) -> tuple[str, str]:
    """Return user name and secret of an Authorization header, both "" for what is none."""
    kind, _space, coded = header.partition(" ")
    if kind.casefold() != "basic" or len(coded) > 1000:
        return "", ""
    try:
        name, colon, secret = base64.b64decode(coded.strip(), validate=True).decode().partition(":")
    except (binascii.Error, ValueError):
        return "", ""
    return (name, secret) if colon else ("", "")


def _who_is_there() -> HttpResponse:
    response = HttpResponse(
        "Sign in with your user name and an app password, both made on the page of calendars.\n",
        status=401,
        content_type="text/plain; charset=utf-8",
    )
    response["WWW-Authenticate"] = REALM
    return response


def _wait(seconds: int) -> HttpResponse:
    text = "Too many wrong passwords. Try again later.\n"
    response = HttpResponse(text, status=429, content_type="text/plain; charset=utf-8")
    response["Retry-After"] = str(seconds)
    return response
