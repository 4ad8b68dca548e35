"""Rendered events, zones and a heading to one calendar body, within the size readers accept, never empty."""

from __future__ import annotations

import gzip
import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from icalendar import Calendar, vDuration

from calendars.ics.entry import COLORS
from calendars.ics.event import Text
from calendars.ics.text import LINE_CAP, TEXT_CAP, clean

PRODID = "-//Featherdays//Calendars 1//EN"
REFRESH = timedelta(hours=4)
_HEADING_ROOM = 8_000  # the heading with both texts at their caps and every character escaped


@dataclass(frozen=True, slots=True)
class About:
    """The heading: the calendar's name, what it holds (plain text), and its colour by CSS name."""

    name: str
    description: str = ""
    color: str = ""

    def __post_init__(self) -> None:
        """Clean the texts; refuse an unknown colour, for which strict readers refuse the whole calendar."""
        object.__setattr__(self, "name", clean(self.name, LINE_CAP, lines=False))
        object.__setattr__(self, "description", clean(self.description, TEXT_CAP))
        if self.color and self.color not in COLORS:
            raise ValueError(f"colour must be one of the CSS names in COLORS, not {self.color!r}")


@dataclass(frozen=True, slots=True)
class Limits:
    """What one large provider still takes: octets of the whole body, and events."""

    octets: int = 900_000
    events: int = 1_000


PUBLISHED = Limits()
#: Of a copy, which is printed or opened as a table as often as it is imported; project default (judgement).
COPIED = Limits(octets=8_000_000, events=10_000)


@dataclass(frozen=True, slots=True)
class Rendered:
    """One event's bytes, and the day by which it is kept or cut."""

    day: date
    uid: str
    event: bytes


@dataclass(frozen=True, slots=True)
class Fitted:
    """The events that fit, in order of day and UID, and how many did not."""

    kept: tuple[Rendered, ...]
    cut: int

    @property
    def days(self) -> tuple[date, date] | None:
        """Return the first and the last day kept, None when nothing was."""
        return (self.kept[0].day, self.kept[-1].day) if self.kept else None


@dataclass(frozen=True, slots=True)
class Body:
    """A finished calendar: its bytes and their strong entity tag, quoted as it stands in the header."""

    octets: bytes
    etag: str = field(init=False)

    def __post_init__(self) -> None:
        """Derive the tag from the bytes."""
        object.__setattr__(self, "etag", f'"{hashlib.sha256(self.octets).hexdigest()[:32]}"')

    def gzipped(self) -> bytes:
        """Return the gzip form; the same bytes every time (no time stamp inside)."""
        return gzip.compress(self.octets, compresslevel=9, mtime=0)


def fit(
    events: Iterable[Rendered], today: date, *, zones: Sequence[bytes] = (), limits: Limits = PUBLISHED
) -> Fitted:
    """Keep what fits, the days nearest ahead first and past days last: what is cut is what matters least
    now.
    """
    found = sorted(events, key=lambda e: (e.day < today, abs((e.day - today).days), e.uid))
    room = limits.octets - _HEADING_ROOM - sum(map(len, zones))
    kept: list[Rendered] = []
    for event in found[: limits.events]:
        room -= len(event.event)
        if room < 0:
            break  # not the next smaller one: a calendar with holes is worse than one that ends early
        kept.append(event)
    return Fitted(tuple(sorted(kept, key=lambda e: (e.day, e.uid))), len(found) - len(kept))


def assemble(about: About, zones: Sequence[bytes], events: Sequence[Rendered]) -> Body:
    """Return the calendar. zones: VTIMEZONEs, at least one unless there are events: some readers clear a
    calendar they find empty, and RFC 5545 §3.6 asks for one component. ValueError when there is neither, or a
    UID comes twice.
    """
    if not zones and not events:
        raise ValueError("a calendar must hold a time zone or an event")
    if len({event.uid for event in events}) != len(events):
        raise ValueError("a UID comes twice")
    return Body(b"".join([_heading(about), *zones, *(event.event for event in events), b"END:VCALENDAR\r\n"]))


def _heading(about: About) -> bytes:
    calendar = Calendar()
    calendar.add("VERSION", "2.0")
    calendar.add("PRODID", Text(PRODID))
    calendar.add("NAME", Text(about.name))
    calendar.add("X-WR-CALNAME", Text(about.name))
    if about.description:
        calendar.add("DESCRIPTION", Text(about.description))
    if about.color:
        calendar.add("COLOR", Text(about.color))
    # Without VALUE=DURATION (as icalendar's own setter writes it) strict readers refuse the calendar.
    calendar["REFRESH-INTERVAL"] = vDuration(REFRESH)
    calendar["REFRESH-INTERVAL"].params["VALUE"] = "DURATION"
    calendar["X-PUBLISHED-TTL"] = vDuration(REFRESH)
    return calendar.to_ical().removesuffix(b"END:VCALENDAR\r\n")
