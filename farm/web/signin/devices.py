"""Browsers that have signed in before: their tries are counted apart, so that a guesser elsewhere keeps no one out.

A signed cookie holds a number made up for the browser and, hashed, the logins that signed in with it. It opens nothing.
"""

from __future__ import annotations

import secrets
from typing import Any

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse

from farm.models import Login
from farm.web.counters import nameless

COOKIE = "known_browser"
SALT = "farm.signin.known-browser"
DAYS = 365
MOST_LOGINS = 8  # a family at one tablet; project default (judgement)


def known(request: HttpRequest | None, email: str) -> str:
    """Return the number of a browser in which `email` has signed in before, else ""."""
    kept = _kept(request)
    return str(kept["browser"]) if _name(email) in kept["logins"] else ""


def remember(request: HttpRequest, response: HttpResponse, login: Login) -> HttpResponse:
    """Return `response`, from which the browser is known as one of `login`."""
    kept, name = _kept(request), _name(login.email)
    logins = [name, *(one for one in kept["logins"] if one != name)][:MOST_LOGINS]
    response.set_cookie(
        COOKIE,
        signing.dumps({"browser": kept["browser"] or secrets.token_urlsafe(12), "logins": logins}, salt=SALT),
        max_age=DAYS * 86400,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )
    return response


def _kept(request: HttpRequest | None) -> dict[str, Any]:
    try:
        sent = request.COOKIES.get(COOKIE, "") if request else ""
        return signing.loads(sent, salt=SALT, max_age=DAYS * 86400)
    except signing.BadSignature:
        return {"browser": "", "logins": []}


def _name(email: str) -> str:
    return nameless(email.strip().casefold())[:16]
