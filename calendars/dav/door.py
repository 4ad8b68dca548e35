"""What answers an address below /dav/, before sessions, languages and forms' tokens: an app password says all of it."""

from __future__ import annotations

import re

from django.http import HttpRequest, HttpResponse
from django.utils.http import http_date, quote_etag
from django.utils.translation import override

from calendars.dav import guests, lists, propfind, reports, ticking, xml
from calendars.dav.answers import Refused, headed, lacks, plain
from calendars.dav.guests import Guest
from calendars.dav.places import ROOT, Place, list_path
from farm.web import clock

WELL_KNOWN = "/.well-known/caldav"
MOST_SENT = xml.MOST_BYTES
_PATH = re.compile(r"/dav(?:/(member-\d{1,18})(?:/(rounds)(?:/([^/]{1,200}))?)?)?/?")
_NAME = re.compile(r"([0-9a-f]{32})\.ics")


def is_ours(path: str) -> bool:
    """Say whether an address is answered here."""
    return path.rstrip("/") in (WELL_KNOWN, "/dav") or path.startswith(ROOT)


def answer(request: HttpRequest) -> HttpResponse:
    """Answer a task app."""
    path = request.path_info
    if path.rstrip("/") == WELL_KNOWN:
        # RFC 6764 §5, whatever the method. Apps ask again there with it.
        return headed(HttpResponse(status=301, headers={"Location": ROOT}))
    if request.method == "OPTIONS":
        return headed(HttpResponse())
    guest = guests.come_in(request, clock.now())
    if isinstance(guest, HttpResponse):
        return headed(guest)
    with override(lists.language(guest.member)):
        return headed(_answer(request, guest, path))


def _answer(request: HttpRequest, guest: Guest, path: str) -> HttpResponse:
    method = str(request.method)
    try:
        if method == "PUT":
            return _put(request, guest, path)
        if method not in ("GET", "HEAD", "PROPFIND", "REPORT"):
            raise ticking.refused(method, path)
        place = find(guest, path)
        if place is None:
            return plain("There is no such list.", 404)
        if method in ("GET", "HEAD"):
            return _get(request, place)
        report = propfind.answer if method == "PROPFIND" else reports.answer
        return report(
            place, _body(request), request.headers.get("Depth", "" if method == "REPORT" else "infinity")
        )
    except Refused as refused:
        return refused.response()
    except ticking.Stale:
        return plain("It was changed since you read it.", 412)
    except xml.Unreadable:
        return plain("This request could not be read.", 400)
    except TooLarge:
        return plain("This request is too large.", 413)


def find(guest: Guest, path: str) -> Place | None:
    """Return what is at an address. Another member's is not found, as what does not exist."""
    match = _PATH.fullmatch(path)
    if match is None or match[1] not in (None, guest.name):
        return None
    if match[1] is None:
        return Place("root", guest)
    if match[2] is None:
        return Place("home", guest)
    row = lists.fresh(guest.member, guest.by.now)
    if match[3] is None:
        return Place("list", guest, row)
    name = _NAME.fullmatch(match[3])
    version = lists.held(row).filter(name=name[1]).first() if name else None
    return None if version is None else Place("todo", guest, row, version)


def _get(request: HttpRequest, place: Place) -> HttpResponse:
    if place.version is None:
        return plain("This address is for task apps (CalDAV).", 200)
    version = place.version
    asked = [
        quote_etag(tag.strip().removeprefix("W/"))
        for tag in request.headers.get("If-None-Match", "").split(",")
    ]
    octets = version.body.encode()
    if version.etag in asked or asked == ['"*"']:
        response = HttpResponse(status=304)
    else:
        content = b"" if request.method == "HEAD" else octets
        response = HttpResponse(content, content_type="text/calendar; charset=utf-8; component=VTODO")
        response["Content-Length"] = str(len(octets))
    response["ETag"] = version.etag
    response["Last-Modified"] = http_date(version.changed_at.timestamp())
    return response


def _put(request: HttpRequest, guest: Guest, path: str) -> HttpResponse:
    match = _PATH.fullmatch(path)
    name = _NAME.fullmatch(match[3] or "") if match and match[1] == guest.name else None
    if name is None:
        if request.headers.get("If-Match"):
            raise ticking.Stale
        raise lacks("bind", list_path(guest), "New chores are made on the pages, not here.")
    conditions = request.headers.get("If-Match", ""), request.headers.get("If-None-Match", "")
    ticking.put(guest, name[1], _body(request), *conditions)
    # No ETag: what is kept is not what was sent, and an app must read it again (RFC 4791 §5.3.4).
    return HttpResponse(status=204)


class TooLarge(ValueError):
    """More was sent than any app has to say."""


def _body(request: HttpRequest) -> bytes:
    length = request.META.get("CONTENT_LENGTH") or "0"
    if not length.isdigit() or len(length) > 9 or int(length) > MOST_SENT:
        raise TooLarge
    return request.read(MOST_SENT)
