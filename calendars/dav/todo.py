"""One to-do as it stands in a task app, and its text. Pure: no database, no clock."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from icalendar import Todo as Component
from icalendar import vCategory, vDate, vDatetime
from icalendar.parser import Contentline

from calendars import ics
from calendars.ics.event import Text
from calendars.ics.text import LINE_CAP, TEXT_CAP, clean

PRODID = "-//Featherdays//Tasks 1//EN"


@dataclass(frozen=True, slots=True)
class Todo:
    """What is to do. start, due: both days, both instants in UTC, or start None. done_at: when it was ticked.

    skipped: left out on purpose. Texts are cleaned as they come in.
    """

    uid: str
    summary: str
    due: date
    start: date | None = None
    zone: str = ""
    description: str = ""
    location: str = ""
    url: str = ""
    category: str = ""
    done_at: datetime | None = None
    skipped: bool = False

    def __post_init__(self) -> None:
        """Clean the texts."""
        for name in ("summary", "location", "category"):
            object.__setattr__(self, name, clean(getattr(self, name), LINE_CAP, lines=False))
        object.__setattr__(self, "description", clean(self.description, TEXT_CAP))

    @property
    def status(self) -> str:
        """Return its STATUS."""
        return "CANCELLED" if self.skipped else "COMPLETED" if self.done_at else "NEEDS-ACTION"

    def timing(self) -> str:
        """Return what a change of raises SEQUENCE."""
        start = self.start.isoformat() if self.start else ""
        return f"{start}/{self.due.isoformat()}/{self.zone}/{self.status}"

    def digest(self, extras: str) -> str:
        """Return the SHA-256 of everything visible: not of stamp and sequence, which follow from it."""
        seen = [self.uid, self.timing(), self.summary, self.description, self.location, self.url]
        seen += [self.category, str(self.done_at), extras]
        return hashlib.sha256(json.dumps(seen).encode()).hexdigest()

    def octets(self, stamp: datetime, sequence: int, extras: Iterable[str] = ()) -> bytes:
        """Return the calendar object. extras: whole unfolded lines of task apps' own (`asked.extras`)."""
        component = self._component(stamp, sequence).to_ical()
        own = b"".join(Contentline(line).to_ical() + b"\r\n" for line in extras)
        last = b"END:VTODO\r\n"
        assert component.endswith(last)
        zone = ics.vtimezone(self.zone, self.due.year - 1) if self.zone and self.zone != "UTC" else b""
        head = f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:{PRODID}\r\n".encode()
        return head + zone + component.removesuffix(last) + own + last + b"END:VCALENDAR\r\n"

    def _component(self, stamp: datetime, sequence: int) -> Component:
        made = Component()
        made.add("UID", Text(self.uid))
        made.add("DTSTAMP", stamp.astimezone(UTC).replace(microsecond=0))
        made.add("LAST-MODIFIED", stamp.astimezone(UTC).replace(microsecond=0))
        made.add("SEQUENCE", sequence)
        if self.start is not None:
            self._when(made, "DTSTART", self.start)
        self._when(made, "DUE", self.due)
        made.add("SUMMARY", Text(self.summary))
        for name, text in (("DESCRIPTION", self.description), ("LOCATION", self.location)):
            if text:
                made.add(name, Text(text))
        if self.url:
            made.add("URL", self.url)
        if self.category:
            made["CATEGORIES"] = vCategory([Text(self.category)])
        made.add("STATUS", Text(self.status))
        if self.done_at is not None and not self.skipped:
            made.add("COMPLETED", self.done_at.astimezone(UTC).replace(microsecond=0))
            made.add("PERCENT-COMPLETE", 100)
        return made

    def _when(self, made: Component, name: str, value: date) -> None:
        if not isinstance(value, datetime):
            made[name] = vDate(value)
            made[name].params["VALUE"] = "DATE"
            return
        local = value.astimezone(ZoneInfo(self.zone or "UTC"))
        if self.zone in ("", "UTC"):
            made[name] = vDatetime(value.astimezone(UTC))
            return
        made[name] = vDatetime(local.replace(tzinfo=None))
        made[name].params["TZID"] = self.zone


def sayable(zone: str, *instants: datetime) -> str:
    """Return the zone to write instants in: UTC when one is in an hour that the clocks repeat, of which readers differ
    in what a local time means.
    """
    return "UTC" if any(_comes_twice(each.astimezone(ZoneInfo(zone))) for each in instants) else zone


def _comes_twice(local: datetime) -> bool:
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
