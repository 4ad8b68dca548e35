"""What a calendar may be before anything reads it: a look at its bytes, one pass, no library. Pure."""

from __future__ import annotations

import re

from calendars.incoming.records import Unreadable

#: All project default (judgement): a school's calendar of many years has some hundred entries and some 100 kB.
MOST_BYTES = 2_000_000
MOST_COMPONENTS = 10_000
MOST_LINE = 100_000
MOST_LINES = 150_000
DEEPEST = 4  # calendar, event, alarm, and one to spare
MOST_DATES = 20_000
#: Rules that come round more often than daily are nobody's holidays; in the rules of a zone they are an attack.
_SUB_DAILY = re.compile(rb"FREQ\s*=\s*(SECONDLY|MINUTELY|HOURLY)", re.IGNORECASE)
_FOLD = re.compile(rb"\r?\n[ \t]")
_BREAK = re.compile(rb"\r\n|\n|\r")


def check(octets: bytes) -> None:
    """Raise Unreadable unless this may be one calendar of bearable size: "large", "calendar" or "many"."""
    if len(octets) > MOST_BYTES:
        raise Unreadable("large")
    if not octets.lstrip(b"\xef\xbb\xbf \t\r\n")[:15].upper().startswith(b"BEGIN:VCALENDAR"):
        raise Unreadable("calendar")
    if max(octets.count(b"\n"), octets.count(b"\r")) > MOST_LINES:
        raise Unreadable("many")
    look = _Look()
    for line in _BREAK.split(_FOLD.sub(b"", octets)):
        look.at(line)
    if look.inside:  # cut off on the way
        raise Unreadable("calendar")


class _Look:
    """Counts what a calendar is made of, line by line."""

    def __init__(self) -> None:
        self.inside: list[bytes] = []
        self.components = self.dates = 0

    def at(self, line: bytes) -> None:
        """Look at one unfolded line. Raises Unreadable."""
        name, _colon, value = line.partition(b":")
        name = name.upper().strip()
        if name in (b"BEGIN", b"END"):
            self._border(name, value.strip().upper())
        elif name.startswith((b"RDATE", b"EXDATE")):
            self.dates += value.count(b",") + 1
        zone_rule = name.startswith((b"RRULE", b"EXRULE")) and b"VTIMEZONE" in self.inside
        if (
            len(line) > MOST_LINE
            or len(self.inside) > DEEPEST
            or self.components > MOST_COMPONENTS
            or self.dates > MOST_DATES
            or (zone_rule and _SUB_DAILY.search(value))
        ):
            raise Unreadable("many")

    def _border(self, name: bytes, kind: bytes) -> None:
        if name == b"BEGIN":
            self.inside.append(kind)
            self.components += 1
        elif not self.inside or self.inside.pop() != kind:
            raise Unreadable("calendar")
