"""A finished calendar read back: what an app would list of it, one event of it alone, and the same as a table."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from icalendar import Calendar

from farm.web.imports import grid

#: Entries a preview lists; project default (judgement).
MOST_LISTED = 40
_EVENT = re.compile(rb"BEGIN:VEVENT\r\n.*?END:VEVENT\r\n", re.S)


@dataclass(frozen=True, slots=True)
class Listed:
    """One event as an app lists it. at: "07:00–07:25", "" for whole days. last: its last day."""

    uid: str
    day: date
    last: date
    at: str
    title: str
    place: str
    body: str
    categories: str
    url: str
    color: str
    alarm: bool
    cancelled: bool


@dataclass(frozen=True, slots=True)
class Preview:
    """The calendar's heading, the first events from a day on by day, how many more there are, and how many in all."""

    name: str
    description: str
    days: tuple[tuple[date, tuple[Listed, ...]], ...]
    more: int
    total: int
    kilobytes: int


def of(octets: bytes, zone: str, today: date) -> Preview:
    """Return what an app in `zone` lists from `today` on."""
    calendar = Calendar.from_ical(octets)
    found = listed(calendar, zone)
    ahead = [event for event in found if event.last >= today]
    shown = groupby(ahead[:MOST_LISTED], key=lambda event: event.day)
    return Preview(
        name=str(calendar.get("X-WR-CALNAME", "")),
        description=str(calendar.get("DESCRIPTION", "")),
        days=tuple((day, tuple(events)) for day, events in shown),
        more=max(0, len(ahead) - MOST_LISTED),
        total=len(found),
        kilobytes=-(-len(octets) // 1000),
    )


def listed(calendar: Any, zone: str) -> list[Listed]:
    """Return a parsed calendar's events by day and time."""
    events = [_listed(event, ZoneInfo(zone)) for event in calendar.walk("VEVENT")]
    return sorted(events, key=lambda event: (event.day, event.at, event.title, event.uid))


def _listed(event: Any, zone: ZoneInfo) -> Listed:
    start, end = event["DTSTART"].dt, event["DTEND"].dt
    at = ""
    if isinstance(start, datetime):
        start, end = start.astimezone(zone), end.astimezone(zone)
        at = f"{start:%H:%M}–{end:%H:%M}"
        day, last = start.date(), end.date()
    else:
        day, last = start, end - timedelta(days=1)
    names = event.get("CATEGORIES")
    return Listed(
        uid=str(event["UID"]),
        day=day,
        last=last,
        at=at,
        title=str(event["SUMMARY"]),
        place=str(event.get("LOCATION", "")),
        body=str(event.get("DESCRIPTION", "")),
        categories=", ".join(str(name) for name in names.cats) if names is not None else "",
        url=str(event.get("URL", "")),
        color=str(event.get("COLOR", "")),
        alarm=bool(event.walk("VALARM")),
        cancelled=str(event.get("STATUS", "")) == "CANCELLED",
    )


def only(octets: bytes, uid: str) -> bytes | None:
    """Return the calendar with one of its events alone, byte for byte as it was published; None without such a one."""
    wanted = f"UID:{uid}"
    for match in _EVENT.finditer(octets):
        if wanted in match[0].replace(b"\r\n ", b"").decode().split("\r\n"):
            first = next(_EVENT.finditer(octets)).start()
            return octets[:first] + match[0] + b"END:VCALENDAR\r\n"
    return None


def table(octets: bytes, zone: str) -> str:
    """Return the events as comma-separated text, guarded so that no spreadsheet runs a cell as a formula."""
    heads = [
        _("Day"),
        _("Last day"),
        _("Time"),
        _("Title"),
        _("Place"),
        _("Details"),
        _("Kind"),
        _("Cancelled"),
        _("Page"),
    ]
    return grid.written([heads, *map(list, _rows(listed(Calendar.from_ical(octets), zone)))])


def _rows(events: Sequence[Listed]) -> Iterator[tuple[str, ...]]:
    for event in events:
        cancelled = _("yes") if event.cancelled else ""
        days = event.day.isoformat(), event.last.isoformat()
        yield (*days, event.at, event.title, event.place, event.body, event.categories, cancelled, event.url)
