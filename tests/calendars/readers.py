"""Calendars read by other people's code, each to the same few facts, so that they can be set side by side.

Standard: RFC 5545 (iCalendar) and RFC 7986 (calendar properties). Readers, each independent of the others:
- `ical` (Allen Porter): strict pydantic parser, own recurrence and time zone code,
- `icalendar` (Plone collective): its typed getters; it also builds our components, so it never judges alone,
- `recurring-ical-events` (Nicco Kunzmann): expands what `icalendar` parsed,
- `ical.js` (npm, what Thunderbird reads with): where FEATHERDAYS_TEST_ICALJS names a folder it is installed in,
- `calcurse -i` (C), where it is installed: reads a calendar and writes it out again in its own words.
Where one of the last two is missing, its tests say that they did not run.
"""

from __future__ import annotations

import atexit
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path

import icalendar
import pytest
import recurring_ical_events
from ical.calendar_stream import IcsCalendarStream

from calendars.ics import Entry

FIRST, LAST = date(2023, 1, 1), date(2031, 1, 1)  # the days that are expanded
ICALJS = os.environ.get("FEATHERDAYS_TEST_ICALJS", "")
HAS_ICALJS = bool(
    ICALJS and shutil.which("node") and (Path(ICALJS) / "node_modules/ical.js/dist/ical.js").exists()
)
HAS_CALCURSE = shutil.which("calcurse") is not None
needs_icaljs = pytest.mark.skipif(
    not HAS_ICALJS, reason="not tested: no ical.js (FEATHERDAYS_TEST_ICALJS names its folder)"
)
needs_calcurse = pytest.mark.skipif(not HAS_CALCURSE, reason="not tested: calcurse is not installed")

#: (UID, start, end): days as dates, half-open; instants in UTC.
Span = tuple[str, date, date]


class Unreadable(Exception):
    """A reader refused the calendar."""


@dataclass(frozen=True, slots=True)
class Fact:
    """What a reader understood of one event."""

    uid: str
    start: date
    end: date
    title: str
    body: str = ""
    place: str = ""
    sequence: int = 0
    status: str = "CONFIRMED"
    stamp: datetime | None = None
    tags: tuple[str, ...] = ()

    @property
    def span(self) -> Span:
        return self.uid, self.start, self.end


def meant(entries: Iterable[Entry]) -> set[Fact]:
    """Return what the model says of entries; events without a place or body read as empty text."""
    return {
        Fact(
            e.uid, e.start, e.end, e.summary, e.description, e.location, e.sequence, str(e.status),
            e.stamp.replace(microsecond=0), e.categories,
        )
        for e in entries
    }  # fmt: skip


def spans(facts: Iterable[Fact]) -> set[Span]:
    return {fact.span for fact in facts}


def plain(value: date) -> date:
    """Return a day as it is and an instant in UTC, whatever zone object the reader put into it."""
    return value.astimezone(UTC) if isinstance(value, datetime) else value


def by_ical(octets: bytes) -> list[Fact]:
    """Read with `ical`, strictly, and expand its timeline."""
    parsed = IcsCalendarStream.calendar_from_ics(octets.decode())
    first, last = (datetime(day.year, day.month, day.day, tzinfo=UTC) for day in (FIRST, LAST))
    return [
        Fact(
            e.uid, plain(e.dtstart), plain(e.dtend), e.summary or "", e.description or "", e.location or "",
            e.sequence or 0, e.status or "", plain(e.dtstamp), tuple(e.categories),
        )
        for e in parsed.timeline_tz(UTC).overlapping(first, last)
    ]  # fmt: skip


def by_icalendar(octets: bytes) -> list[Fact]:
    """Read one calendar with `icalendar`'s typed getters; the calendar's own are read too, as they may refuse."""
    parsed = icalendar.Calendar.from_ical(octets)
    if parsed.errors or parsed["VERSION"] != "2.0" or not parsed["PRODID"]:
        raise Unreadable(str(parsed.errors))
    for name in ("calendar_name", "description", "color", "refresh_interval"):
        getattr(parsed, name)
    return [_typed(event) for event in parsed.events]


def _typed(e: icalendar.Event) -> Fact:
    if e.errors:
        raise Unreadable(str(e.errors))
    return Fact(
        e.uid, plain(e.start), plain(e.end), e.summary or "", e.description or "", e.location or "", e.sequence,
        str(e.status or ""), e.DTSTAMP, tuple(map(str, e.categories)),
    )  # fmt: skip


def by_recurring(octets: bytes) -> list[Fact]:
    """Expand with `recurring-ical-events`."""
    parsed = icalendar.Calendar.from_ical(octets)
    return [_typed(e) for e in recurring_ical_events.of(parsed).between(FIRST, LAST)]


def by_icaljs(octets: bytes) -> list[Fact]:
    """Read with `ical.js` in a process of its own that is kept for the whole run."""
    answer = _icaljs(octets)
    return [
        Fact(
            e["uid"], _js_time(e["start"]), _js_time(e["end"]), e["title"], e["body"], e["place"], e["sequence"] or 0,
            e["status"], datetime.fromtimestamp(e["stamp"], UTC) if e["stamp"] else None, tuple(e["tags"]),
        )
        for e in answer["events"]
    ]  # fmt: skip


def _icaljs(octets: bytes) -> dict:
    process = _node()
    process.stdin.write(json.dumps(octets.decode()) + "\n")
    process.stdin.flush()
    answer = json.loads(process.stdout.readline())
    if "error" in answer:
        raise Unreadable(answer["error"])
    return answer


@cache
def _node() -> subprocess.Popen:
    script = Path(__file__).parents[1] / "outside" / "ical_js.mjs"
    process = subprocess.Popen(
        ["node", str(script), ICALJS], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, encoding="utf-8"
    )  # fmt: skip
    atexit.register(process.kill)
    return process


def _js_time(value: str | int) -> date:
    return date.fromisoformat(value) if isinstance(value, str) else datetime.fromtimestamp(value, UTC)


def by_calcurse(octets: bytes) -> list[Fact]:
    """Import into calcurse and read what it exports. It gives UIDs of its own: the title stands in for them."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "x.ics").write_bytes(octets)
        said = _calcurse(folder, "-i", f"{folder}/x.ics")
        if " 0 todos / 0 skipped" not in said:
            raise Unreadable(said)
        out = _calcurse(folder, "-x")
    return [_exported(event) for event in icalendar.Calendar.from_ical(out).events]


def _calcurse(folder: str, *arguments: str) -> str:
    """Run calcurse with UTC as its local time, so that what it writes without a zone is an instant."""
    done = subprocess.run(
        ["calcurse", "-D", f"{folder}/data", *arguments],
        env={"PATH": os.environ["PATH"], "TZ": "UTC", "LC_ALL": "C.UTF-8"},
        capture_output=True, text=True, timeout=30, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    if done.returncode:
        raise Unreadable(done.stdout + done.stderr)
    return done.stdout


def _exported(event: icalendar.Event) -> Fact:
    """Return an event of calcurse's; one over many days it writes as a daily repetition up to the last of them."""
    start = event["DTSTART"].dt
    if not isinstance(start, datetime):
        last = event["RRULE"]["UNTIL"][0] if "RRULE" in event else start
        return Fact("", start, last + timedelta(days=1), str(event["SUMMARY"]))
    start = start.replace(tzinfo=UTC)
    return Fact("", start, start + event["DURATION"].dt, str(event["SUMMARY"]))


def titled(facts: Iterable[Fact]) -> set[Span]:
    """Return spans by title, for readers that drop UIDs."""
    return {(fact.title, fact.start, fact.end) for fact in facts}
