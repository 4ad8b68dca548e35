"""GET /c/<secret>.ics: the one address calendar apps ask, every few hours, without anybody looking.

Nothing here knows a session, a cookie or a preferred language: the link says all of it. Answers are never 401
or 403 (apps would ask for a password) and never a redirect.
"""

from __future__ import annotations

import logging
import re
from datetime import datetime, timedelta
from functools import lru_cache

from django.conf import settings
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed

from calendars import clients, editions, publish, queries, remembered, services
from calendars.editions import NOTICE_DAYS, Edition
from calendars.models import CalendarBody, CalendarLink
from calendars.remembered import Kept
from farm.queries.tokens import token_hash
from farm.web import clock
from farm.web.counters import count, nameless

log = logging.getLogger(__name__)

MISSES = 30  # wrong addresses one caller may try in MISS_SECONDS; project default (judgement)
MISS_SECONDS = 600
_SECRET = re.compile(r"[A-Za-z0-9_-]{32}")
_family = lru_cache(maxsize=256)(clients.family)
_QUALITY = re.compile(r"\s*q\s*=\s*([01](?:\.\d{0,3})?)\s*")


def calendar(request: HttpRequest, secret: str) -> HttpResponse:
    """Answer a calendar app: 200, 304, 404 for no such link, 410 for one long switched off, 429 for a
    guesser.
    """
    if request.method not in ("GET", "HEAD"):
        return _headed(HttpResponseNotAllowed(["GET", "HEAD"]))
    now = clock.now()
    asked = _Asked(request, secret)
    if _SECRET.fullmatch(secret) and (kept := asked.kept(now)):
        return _headed(_sent(asked, kept.tag, kept.octets))
    link = queries.find(secret) if _SECRET.fullmatch(secret) else None
    if link is None:
        return _headed(_missed(request.META.get("REMOTE_ADDR", "")))
    ended = editions.ended_at(link)
    if ended is not None and ended <= now:
        return _headed(_ended(asked, link, ended, now))
    edition = editions.of(link)
    _note_use(asked, link, edition, now)
    return _headed(_live(asked, edition, now))


class _Asked:
    """What a request asks for."""

    def __init__(self, request: HttpRequest, secret: str) -> None:
        self.request = request
        self.token_sha256 = token_hash(secret)
        self.client = _family(request.headers.get("User-Agent", ""))
        self.zipped = _wants_gzip(request)

    def kept(self, now: datetime) -> Kept | None:
        """Return the answer that is in memory, if it holds and has what is asked for."""
        kept = remembered.find(self.token_sha256, self.client, now, zipped=self.zipped)
        if kept is None or (kept.octets is None and not _matches(self.request, kept.tag)):
            return None
        return kept


def _note_use(asked: _Asked, link: CalendarLink, edition: Edition, now: datetime) -> None:
    """Note the day of use; a database too busy to note it must not keep the calendar from being read."""
    try:
        services.used(link, edition.today(now), asked.client)
    except DatabaseError:
        log.warning("the last use of calendar link %s was not noted", link.pk)


def _live(asked: _Asked, edition: Edition, now: datetime) -> HttpResponse:
    today = edition.today(now)
    known = queries.stored(edition)
    if known is None or known.key != edition.key(today):
        known = _rebuilt(edition, known, now)
    if known is None:
        return _plain(
            "The calendar could not be built just now. It is asked for again by itself.", 503, retry=300
        )
    etag, octets = known.etag, None
    if not _matches(asked.request, etag):
        etag, octets = _at_one_moment(edition, known, "zipped" if asked.zipped else "octets")
    remembered.keep(asked.token_sha256, asked.client, edition, today, etag, octets, zipped=asked.zipped)
    return _sent(asked, etag, octets)


def _sent(asked: _Asked, etag: str, octets: bytes | None) -> HttpResponse:
    if octets is None or _matches(asked.request, etag):
        return _unchanged(asked, etag)
    return _body(asked, octets, etag)


def _at_one_moment(edition: Edition, known: CalendarBody, column: str) -> tuple[str, bytes]:
    """Return a tag and its own bytes. They are left out of what is read first; read by themselves after a build in
    between, they would be new ones under the old tag.
    """
    if column not in known.get_deferred_fields():
        return known.etag, bytes(getattr(known, column))
    rows = CalendarBody.objects.filter(farm=edition.farm, edition=edition.name)
    etag, octets = rows.values_list("etag", column).get()
    return etag, bytes(octets)


def _rebuilt(edition: Edition, known: CalendarBody | None, now: datetime) -> CalendarBody | None:
    """Return the edition built anew, or what was published before when that fails: old chores beat none."""
    try:
        return services.build(edition, now)
    except Exception:
        log.exception("calendar edition %s of farm %s could not be built", edition.name, edition.farm.pk)
        return known


def _ended(asked: _Asked, link: CalendarLink, ended: datetime, now: datetime) -> HttpResponse:
    if now >= ended + timedelta(days=NOTICE_DAYS):
        return _plain("This calendar was switched off.", 410)
    body = publish.switched_off(editions.of(link), ended)
    return _sent(asked, body.etag, body.gzipped() if asked.zipped else body.octets)


def _missed(address: str) -> HttpResponse:
    """Answer an unknown secret; a caller with many of them is slowed down. Those who know theirs never
    are.
    """
    misses = count(f"calendar-misses:{nameless(address)}", MISS_SECONDS)
    if misses > MISSES:
        return _plain("Too many wrong addresses. Try again later.", 429, retry=MISS_SECONDS)
    return _plain("There is no such calendar.", 404)


def _body(asked: _Asked, octets: bytes, etag: str) -> HttpResponse:
    response = HttpResponse(
        b"" if asked.request.method == "HEAD" else octets, content_type="text/calendar; charset=utf-8"
    )
    response["Content-Length"] = str(len(octets))
    response["ETag"] = _zipped_tag(etag) if asked.zipped else etag
    if asked.zipped:
        response["Content-Encoding"] = "gzip"
    return response


def _unchanged(asked: _Asked, etag: str) -> HttpResponse:
    response = HttpResponse(status=304)
    del response["Content-Type"]
    response["ETag"] = _zipped_tag(etag) if asked.zipped else etag
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
    """Say whether gzip was asked for by name, or by `*` without being refused by name (RFC 9110 §12.5.3)."""
    asked: dict[str, bool] = {}
    for part in request.headers.get("Accept-Encoding", "").lower().split(","):
        name, weighed, quality = part.partition(";")
        weight = _QUALITY.fullmatch(quality)
        asked[name.strip()] = not weighed or (weight is not None and float(weight[1]) > 0)
    return getattr(settings, "CALENDAR_GZIP", True) and asked.get("gzip", asked.get("*", False))
