"""The real pages, and beside them, under /built/<secret>, a calendar that is built anew for each request."""

from __future__ import annotations

import gzip
from collections.abc import Callable, Iterable
from typing import Any

from farm.wsgi import application as pages

Start = Callable[..., Any]


def application(environ: dict[str, Any], start: Start) -> Iterable[bytes]:
    """Answer as the real pages do, but for /built/."""
    path = environ.get("PATH_INFO", "")
    if not path.startswith("/built/"):
        return pages(environ, start)
    octets = gzip.compress(built(path.removeprefix("/built/")), 9, mtime=0)
    start("200 OK", [("Content-Type", "text/calendar; charset=utf-8"), ("Content-Length", str(len(octets)))])
    return [octets]


def built(secret: str) -> bytes:
    """Return the calendar of a link, with nothing of it kept from before but what versions its entries have."""
    from calendars import building, editions, queries
    from calendars.ics import render
    from farm.web import clock

    link = queries.find(secret)
    if link is None:
        return b""
    render.cache_clear()
    return building.draft(editions.of(link), clock.now()).octets
