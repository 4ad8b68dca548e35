"""The same events built the usual way, with icalendar's own components: what ours is measured and checked against."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from icalendar import Alarm, Event, vDate, vDatetime, vText
from icalendar.prop import vInline

from calendars.ics import Entry
from calendars.ics.event import written_in


class Text(vText):
    r"""TEXT escaped after RFC 5545 §3.3.11. icalendar's own turns a typed `\N` into a line break."""

    __slots__ = ()

    def to_ical(self) -> bytes:
        """Return the escaped value."""
        text = self.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
        return text.encode()


def built(entry: Entry) -> bytes:
    """Return the entry as icalendar writes it."""
    event = Event()
    stamp = entry.stamp.astimezone(UTC).replace(microsecond=0)
    event.add("UID", Text(entry.uid))
    event.add("DTSTAMP", stamp)
    event.add("LAST-MODIFIED", stamp)
    event.add("SEQUENCE", entry.sequence)
    _when(event, "DTSTART", entry.start, written_in(entry))
    _when(event, "DTEND", entry.end, written_in(entry))
    event.add("SUMMARY", Text(entry.summary))
    for name, text in (("DESCRIPTION", entry.description), ("LOCATION", entry.location)):
        if text:
            event.add(name, Text(text))
    if entry.url:
        event.add("URL", entry.url)
    if entry.categories:
        # Escaped here: a list of them it escapes in its own way, `\\N` and all.
        event["CATEGORIES"] = vInline(",".join(Text(name).to_ical().decode() for name in entry.categories))
    if entry.color:
        event.add("COLOR", Text(entry.color))
    event.add("STATUS", Text(entry.status))
    event.add("TRANSP", Text("TRANSPARENT" if entry.transparent else "OPAQUE"))
    if entry.alarm_minutes is not None:
        alarm = Alarm()
        alarm.add("ACTION", Text("DISPLAY"))
        alarm.add("DESCRIPTION", Text(entry.summary))
        alarm.add("TRIGGER", timedelta(minutes=entry.alarm_minutes))
        event.add_component(alarm)
    return event.to_ical()


def _when(event: Event, name: str, value: date, zone: str) -> None:
    if not isinstance(value, datetime):
        event[name] = vDate(value)
        event[name].params["VALUE"] = "DATE"
    elif zone == "UTC":
        event[name] = vDatetime(value.astimezone(UTC))
    else:
        event[name] = vDatetime(value.astimezone(ZoneInfo(zone)).replace(tzinfo=None))
        event[name].params["TZID"] = zone
