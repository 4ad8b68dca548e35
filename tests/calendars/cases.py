"""Entries, items and calendars for the tests of this folder; each test names only what it is about."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import Any

from calendars.entries import Reader
from calendars.ics import About, Body, Entry, Rendered, assemble, render, vtimezone
from farm.phrase import Phrase
from farm.planning.agenda import Item

STAMP = datetime(2026, 5, 1, 10, tzinfo=UTC)
ZONE = "Europe/Berlin"

HOSTILE = [
    "two\r\nlines",
    "a lone \r return",
    "next\x85line, line\u2028sep and para\u2029sep",
    "nul \x00 bell \x07 esc \x1b[31m del \x7f csi \x9b",
    "\u202eright to left\u202c and \u2066isolate\u2069",
    "lone \ud83d surrogate",
    "chick 🐣 family 👨‍👩‍👧‍👦 flag 🇩🇪 skin 👍🏽",
    "e\u0301" * 80,
    "x" * 10_000,
    "🐣" * 3_000,
    "=HYPERLINK(\"http://example.org\",\"win\")",
    "+1-2 @SUM(A1)",
    "<b>bold</b><script>alert(1)</script>&amp;",
    "END:VCALENDAR\r\nBEGIN:VCALENDAR\r\nVERSION:2.0",
    "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:injected",
    "x\nATTACH:http://example.org/evil",
    "comma, semicolon; colon: backslash \\ and \\n and \\N and \\, and C:\\New",
    "trailing backslash \\",
    '"quoted" ^n ^^ \'',
    "=\r\n=",
    "\t=tab first",
    "%s %(x)d {0}",
]  # fmt: skip


def all_day(**changes: Any) -> Entry:
    fields = {
        "uid": "step:batch:1/grit@farm",
        "start": date(2026, 5, 9),
        "end": date(2026, 5, 10),
        "summary": "Grit",
    }
    return Entry(**{**fields, "stamp": STAMP, **changes})


def timed(**changes: Any) -> Entry:
    fields = {
        "uid": "round:2026-05-09/morning@farm",
        "start": datetime(2026, 5, 9, 5, tzinfo=UTC),
        "end": datetime(2026, 5, 9, 5, 25, tzinfo=UTC),
        "zone": ZONE,
        "summary": "Morning round",
        "stamp": STAMP,
    }
    return Entry(**{**fields, **changes})


def calendar(*entries: Entry, name: str = "Hollow Farm", description: str = "", zone: str = ZONE) -> Body:
    events = [Rendered(entry.day, entry.uid, render(entry)) for entry in entries]
    return assemble(About(name, description, "gold"), [vtimezone(zone, 2025)], events)


def unfolded(octets: bytes) -> list[str]:
    return octets.decode().replace("\r\n ", "").split("\r\n")


def reader(**changes: Any) -> Reader:
    fields = {
        "name": "farm",
        "zone": ZONE,
        "system": "metric",
        "round_times": {"morning": time(7), "midday": time(12, 30), "evening": time(18, 30)},
        "site": "https://hens.example",
        "identity": "hollow",
    }
    return Reader(**{**fields, **changes})


def item(**changes: Any) -> Item:
    """Return a morning chore of 9 May in Brooder 1."""
    fields: dict[str, Any] = {
        "source": "room:1/feed_water",
        "kind": "chore",
        "job": "feed_water",
        "batch": None,
        "batches": ("7",),
        "room": "1",
        "room_name": "Brooder 1",
        "due": date(2026, 5, 9),
        "until": None,
        "round": "morning",
        "title": Phrase("Brooder 1: Feed and water"),
        "why": Phrase("They drink before they eat"),
        "source_key": "common practice, no source",
        "age_days": 14,
        "minutes": 8,
        "who": "child",
    }
    return Item(**{**fields, **changes})


def step(**changes: Any) -> Item:
    """Return the step of 9 May that lowers the heat of batch 7 in Brooder 1."""
    fields: dict[str, Any] = {
        "source": "batch:7/heat_lower/14",
        "kind": "step",
        "job": "heat_lower",
        "batch": "7",
        "title": Phrase("Brooder 1: 32 → 29 °C"),
        "minutes": 5,
        "who": "adult",
    }
    return item(**{**fields, **changes})
