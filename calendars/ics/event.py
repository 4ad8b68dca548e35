"""One entry to one VEVENT: escaped and folded by icalendar, with its known slips mended here."""

from __future__ import annotations

from datetime import UTC, date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from icalendar import Event, vCategory, vDate, vDatetime, vText

from calendars.ics.entry import Entry


class Text(vText):
    r"""TEXT escaped after RFC 5545 §3.3.11. icalendar's own turns a typed `\N` into a line break."""

    __slots__ = ()

    def to_ical(self) -> bytes:
        """Return the escaped value."""
        text = self.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
        return text.encode()


@lru_cache(maxsize=16_384)
def render(entry: Entry) -> bytes:
    """Return the entry as a VEVENT with CRLF line ends, lines of at most 75 octets.

    Rendered once per content: the same entry costs a look-up the next time.
    """
    event = Event()
    event.add("UID", Text(entry.uid))
    event.add("DTSTAMP", entry.stamp.astimezone(UTC).replace(microsecond=0))
    event.add("LAST-MODIFIED", entry.stamp.astimezone(UTC).replace(microsecond=0))
    event.add("SEQUENCE", entry.sequence)
    zone = _sayable(entry)
    _when(event, "DTSTART", entry.start, zone)
    _when(event, "DTEND", entry.end, zone)
    event.add("SUMMARY", Text(entry.summary))
    for name, text in (("DESCRIPTION", entry.description), ("LOCATION", entry.location)):
        if text:
            event.add(name, Text(text))
    if entry.url:
        event.add("URL", entry.url)
    if entry.categories:
        event["CATEGORIES"] = vCategory([Text(name) for name in entry.categories])
    if entry.color:
        event.add("COLOR", Text(entry.color))
    event.add("STATUS", Text(entry.status))
    event.add("TRANSP", Text("TRANSPARENT" if entry.transparent else "OPAQUE"))
    return event.to_ical()


def _when(event: Event, name: str, value: date, zone: str) -> None:
    if not isinstance(value, datetime):
        event[name] = vDate(value)
        event[name].params["VALUE"] = "DATE"
        return
    if zone == "UTC":
        event[name] = vDatetime(value.astimezone(UTC))
        return
    event[name] = vDatetime(value.astimezone(ZoneInfo(zone)).replace(tzinfo=None))
    event[name].params["TZID"] = zone


def _sayable(entry: Entry) -> str:
    """Return the zone to write an entry in: UTC when it begins or ends in the second pass of a repeated hour.

    That hour has no local name in RFC 5545 (a local time there means the first pass), and a reader that is given one
    end in UTC and the other in local time takes the wrong length.
    """
    ends = (value for value in (entry.start, entry.end) if isinstance(value, datetime))
    return "UTC" if any(value.astimezone(ZoneInfo(entry.zone)).fold for value in ends) else entry.zone
