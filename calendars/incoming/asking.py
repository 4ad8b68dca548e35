"""One question to where somebody's calendar is: within limits, by public addresses only, and only for what is new."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlsplit

from django.conf import settings

from calendars.incoming import bounds
from calendars.incoming.records import Unreadable
from farm.services.channels import fetching
from farm.services.channels.fetching import Limits, Request, Unfetched

#: Project default (judgement).
LIMITS = Limits(seconds=20.0, most_bytes=bounds.MOST_BYTES, redirects=3)
_WHY = {401: "refused", 403: "refused", 404: "missing", 410: "missing"}


@dataclass(frozen=True, slots=True)
class Answer:
    """A calendar's bytes, None when it is as it was; and what to say the next time to hear whether it is."""

    octets: bytes | None
    etag: str
    modified: str


def address_of(typed: str) -> str:
    """Return a typed address as it is asked: a `webcal` one by https. Raises Unreadable for one that never is."""
    address = typed.strip()
    scheme, _colon, rest = address.partition("://")
    if scheme.lower() in ("webcal", "webcals"):
        address = f"https://{rest}"
    try:
        _parts, host, port = fetching.parts_of(address)
    except Unfetched as error:
        raise Unreadable(error.why) from error
    own = urlsplit(settings.ADDRESS)
    if host == own.hostname and port == (own.port or 443):
        raise Unreadable("own")
    return address


def host_of(address: str) -> str:
    """Return what may be shown of an address: its host."""
    return fetching.parts_of(address)[1][:120]


def ask(address: str, *, etag: str = "", modified: str = "") -> Answer:
    """Ask for a calendar. etag, modified: of the one known, to hear only of a newer one. Raises Unreadable."""
    # No compression: a small answer could become a large one.
    headers = {
        "Accept": "text/calendar, */*;q=0.1",
        "Accept-Encoding": "identity",
        "User-Agent": "Featherdays",
    }
    if etag:
        headers["If-None-Match"] = etag
    if modified:
        headers["If-Modified-Since"] = modified
    try:
        found = fetching.fetch(Request(address, headers=headers), limits=LIMITS)
    except Unfetched as error:
        raise Unreadable(error.why) from error
    if found.status == 304 and (etag or modified):
        return Answer(None, etag, modified)
    if found.status != 200:
        raise Unreadable(_WHY.get(found.status, "status"))
    return Answer(found.body, _header(found, "ETag", 200), _header(found, "Last-Modified", 80))


def _header(found: fetching.Answer, name: str, most: int) -> str:
    """Return a header to be sent back later, "" when it can't be: too long, or with odd characters."""
    value = str(found.headers.get(name) or "")
    return value if len(value) <= most and value.isascii() and value.isprintable() else ""
