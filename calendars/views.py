"""GET /c/<secret>.ics: the one address calendar apps ask, every few hours, without anybody looking.

Nothing here knows a session, a cookie or a preferred language: the link says all of it. Answers are never 401
or 403 (apps would ask for a password) and never a redirect.
"""

from __future__ import annotations

import hashlib
import logging
import re
from datetime import datetime, timedelta

from django.conf import settings
from django.core.cache import cache
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed

from calendars import editions, publish, queries, services
from calendars.editions import NOTICE_DAYS, Edition
from calendars.models import CalendarBody, CalendarLink
from farm.web import clock

log = logging.getLogger(__name__)

MISSES = 30  # wrong addresses one caller may try in MISS_SECONDS; project default (judgement)
MISS_SECONDS = 600
_SECRET = re.compile(r"[A-Za-z0-9_-]{32}")
_ACCEPTS_GZIP = re.compile(r"(?:^|,)\s*(?:gzip|\*)\s*(?:;\s*q=(?!0(?:\.0{0,3})?\s*(?:,|$))[\d.]+)?\s*(?=,|$)")


def calendar(request: HttpRequest, secret: str) -> HttpResponse:
    """Answer a calendar app: 200, 304, 404 for no such link, 410 for one long switched off, 429 for a
    guesser.
    """
    if request.method not in ("GET", "HEAD"):
        return HttpResponseNotAllowed(["GET", "HEAD"])
    now = clock.now()
    link = queries.find(secret) if _SECRET.fullmatch(secret) else None
    if link is None:
        return _headed(_missed(request.META.get("REMOTE_ADDR", "")))
    ended = editions.ended_at(link)
    if ended is not None and ended <= now:
        return _headed(_ended(request, link, ended, now))
    edition = editions.of(link)
    _note_use(link, edition, now)
    return _headed(_live(request, edition, now))


def _note_use(link: CalendarLink, edition: Edition, now: datetime) -> None:
    """Note the day of use; a database too busy to note it must not keep the calendar from being read."""
    try:
        services.used(link, edition.today(now))
    except DatabaseError:
        log.warning("the last use of calendar link %s was not noted", link.pk)


def _live(request: HttpRequest, edition: Edition, now: datetime) -> HttpResponse:
    known = queries.stored(edition)
    if known is None or known.key != edition.key(edition.today(now)):
        known = _rebuilt(edition, known, now)
    if known is None:
        return _plain(
            "The calendar could not be built just now. It is asked for again by itself.", 503, retry=300
        )
    if _matches(request, known.etag):
        return _unchanged(request, known.etag)
    zipped = _wants_gzip(request)
    return _body(request, bytes(known.zipped if zipped else known.octets), known.etag, zipped=zipped)


def _rebuilt(edition: Edition, known: CalendarBody | None, now: datetime) -> CalendarBody | None:
    """Return the edition built anew, or what was published before when that fails: old chores beat none."""
    try:
        return services.build(edition, now)
    except Exception:
        log.exception("calendar edition %s of farm %s could not be built", edition.name, edition.farm.pk)
        return known


def _ended(request: HttpRequest, link: CalendarLink, ended: datetime, now: datetime) -> HttpResponse:
    if now >= ended + timedelta(days=NOTICE_DAYS):
        return _plain("This calendar was switched off.", 410)
    body = publish.switched_off(editions.of(link), ended)
    if _matches(request, body.etag):
        return _unchanged(request, body.etag)
    zipped = _wants_gzip(request)
    return _body(request, body.gzipped() if zipped else body.octets, body.etag, zipped=zipped)


def _missed(address: str) -> HttpResponse:
    """Answer an unknown secret; a caller with many of them is slowed down. Those who know theirs never
    are.
    """
    key = f"calendar-misses:{hashlib.sha256(address.encode()).hexdigest()[:32]}"
    cache.add(key, 0, MISS_SECONDS)
    try:
        misses = cache.incr(key)
    except ValueError:  # it ran out between the two lines
        misses = 1
    if misses > MISSES:
        return _plain("Too many wrong addresses. Try again later.", 429, retry=MISS_SECONDS)
    return _plain("There is no such calendar.", 404)


def _body(request: HttpRequest, octets: bytes, etag: str, *, zipped: bool) -> HttpResponse:
    response = HttpResponse(
        b"" if request.method == "HEAD" else octets, content_type="text/calendar; charset=utf-8"
    )
    response["Content-Length"] = str(len(octets))
    response["ETag"] = _zipped_tag(etag) if zipped else etag
    if zipped:
        response["Content-Encoding"] = "gzip"
    return response


def _unchanged(request: HttpRequest, etag: str) -> HttpResponse:
    response = HttpResponse(status=304)
    del response["Content-Type"]
    response["ETag"] = _zipped_tag(etag) if _wants_gzip(request) else etag
    return response


def _plain(text: str, status: int, retry: int = 0) -> HttpResponse:
    response = HttpResponse(f"{text}\n", status=status, content_type="text/plain; charset=utf-8")
    response["Content-Length"] = str(len(response.content))
    if retry:
        response["Retry-After"] = str(retry)
    return response


def _headed(response: HttpResponse) -> HttpResponse:
    """Set what every answer carries: for its reader alone, not indexed, its address given to nobody."""
    response["Cache-Control"] = "private, no-cache"
    response["Vary"] = "Accept-Encoding"
    response["X-Robots-Tag"] = "noindex"
    response["Referrer-Policy"] = "no-referrer"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _matches(request: HttpRequest, etag: str) -> bool:
    """Compare weakly, as RFC 9110 §13.1.2 asks of If-None-Match; either encoding's tag means the same
    calendar.
    """
    asked = request.headers.get("If-None-Match", "")
    tags = {tag.strip().removeprefix("W/") for tag in asked.split(",")}
    return asked.strip() == "*" or not tags.isdisjoint({etag, _zipped_tag(etag)})


def _zipped_tag(etag: str) -> str:
    return f'{etag[:-1]}-gz"'


def _wants_gzip(request: HttpRequest) -> bool:
    asked = request.headers.get("Accept-Encoding", "").lower()
    return getattr(settings, "CALENDAR_GZIP", True) and _ACCEPTS_GZIP.search(asked) is not None
