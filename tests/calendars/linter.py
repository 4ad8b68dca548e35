"""A reader that trusts nobody: every broken rule of RFC 5545 and 7986, or of our own promises, in a calendar's bytes.

It shares nothing with the code that writes them, and no library.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field

LINE = re.compile(r"([A-Z][A-Z0-9-]*)((?:;[A-Z-]+=(?:\"[^\"]*\"|[^\",;:]*))*):(.*)", re.S)
TEXT = {"SUMMARY", "DESCRIPTION", "LOCATION", "NAME", "X-WR-CALNAME", "UID", "PRODID", "TZNAME", "COLOR"}
KNOWN = {
    "VCALENDAR": {
        "VERSION", "PRODID", "NAME", "X-WR-CALNAME", "DESCRIPTION", "COLOR", "REFRESH-INTERVAL", "X-PUBLISHED-TTL",
    },
    "VTIMEZONE": {"TZID"},
    "STANDARD": {"DTSTART", "RRULE", "TZOFFSETFROM", "TZOFFSETTO", "TZNAME"},
    "DAYLIGHT": {"DTSTART", "RRULE", "TZOFFSETFROM", "TZOFFSETTO", "TZNAME"},
    "VEVENT": {
        "UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "LOCATION", "URL",
        "CATEGORIES", "COLOR", "STATUS", "TRANSP",
    },
    "VALARM": {"ACTION", "DESCRIPTION", "TRIGGER"},
}  # fmt: skip
NEEDED = {
    "VCALENDAR": {"VERSION", "PRODID", "NAME", "X-WR-CALNAME", "REFRESH-INTERVAL", "X-PUBLISHED-TTL"},
    "VTIMEZONE": {"TZID"},
    "STANDARD": {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"},
    "DAYLIGHT": {"DTSTART", "TZOFFSETFROM", "TZOFFSETTO"},
    "VEVENT": {
        "UID", "DTSTAMP", "LAST-MODIFIED", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "STATUS", "TRANSP",
    },
    "VALARM": {"ACTION", "DESCRIPTION", "TRIGGER"},
}  # fmt: skip
INSIDE = {
    "": {"VCALENDAR"},
    "VCALENDAR": {"VEVENT", "VTIMEZONE"},
    "VTIMEZONE": {"STANDARD", "DAYLIGHT"},
    "VEVENT": {"VALARM"},
}
FORM = {
    "DTSTAMP": r"\d{8}T\d{6}Z",
    "LAST-MODIFIED": r"\d{8}T\d{6}Z",
    "SEQUENCE": r"\d+",
    "STATUS": "CONFIRMED|TENTATIVE|CANCELLED",
    "TRANSP": "OPAQUE|TRANSPARENT",
    "COLOR": "[a-z]+",
    "VERSION": r"2\.0",
    "TZOFFSETFROM": r"[+-]\d{4}(\d\d)?",
    "TZOFFSETTO": r"[+-]\d{4}(\d\d)?",
    "RRULE": r"FREQ=YEARLY;BYMONTH=\d+(;BYMONTHDAY=[\d,]+)?;BYDAY=(-?\d)?(MO|TU|WE|TH|FR|SA|SU)",
    "URL": r"https?://[!-~]+",
    "REFRESH-INTERVAL": "PT4H",
    "X-PUBLISHED-TTL": "PT4H",
    "UID": r"[!-~]{1,255}",
    "ACTION": "DISPLAY",
    "TRIGGER": r"-?P(\d+D)?(T(?=\d)(\d+H)?(\d+M)?(\d+S)?)?",
}


@dataclass
class Component:
    name: str
    lines: list[tuple[str, str, str]] = field(default_factory=list)
    inside: list[Component] = field(default_factory=list)

    def get(self, name: str) -> str:
        return next((value for key, _, value in self.lines if key == name), "")

    def params(self, name: str) -> str:
        return next((params for key, params, _ in self.lines if key == name), "")


def problems(octets: bytes) -> list[str]:
    """Return every broken rule, [] for a calendar fit to be published."""
    found = _bytes(octets)
    if found:
        return found
    root = Component("")
    found += _read(octets.decode(), root)
    if len(root.inside) != 1:
        return [*found, "not exactly one VCALENDAR"]
    calendar = root.inside[0]
    events = [part for part in calendar.inside if part.name == "VEVENT"]
    found += _properties(calendar)
    found += [
        f"UID twice: {uid}" for uid, times in Counter(e.get("UID") for e in events).items() if times > 1
    ]
    zones = {part.get("TZID") for part in calendar.inside if part.name == "VTIMEZONE"}
    for event in events:
        found += _times(event, zones)
    if not calendar.inside:
        found.append("nothing in it")
    if len(octets) > 900_000 or len(events) > 1000:
        found.append(f"too much: {len(octets)} octets, {len(events)} events")
    if calendar.get("NAME") != calendar.get("X-WR-CALNAME"):
        found.append("two names")
    if calendar.params("REFRESH-INTERVAL") != ";VALUE=DURATION":
        found.append("REFRESH-INTERVAL without VALUE=DURATION")
    return found


def _bytes(octets: bytes) -> list[str]:
    found = []
    if not octets.endswith(b"\r\n"):
        found.append("does not end in CRLF")
    if octets.count(b"\r") != octets.count(b"\r\n") or octets.count(b"\n") != octets.count(b"\r\n"):
        found.append("a CR or LF alone")
    for number, line in enumerate(octets.removesuffix(b"\r\n").split(b"\r\n"), 1):
        if not line.strip():
            found.append(f"line {number} is blank")
        if len(line) > 75:
            found.append(f"line {number} has {len(line)} octets")
        try:
            text = line.decode()
        except UnicodeDecodeError:
            found.append(f"line {number} is folded inside a code point, or not UTF-8")
            continue
        if re.search("[\x00-\x1f\x7f-\x9f\ufeff\u2028\u2029\u202a-\u202e\u2066-\u2069]", text):
            found.append(f"line {number} holds a control character")
    return found


def _read(text: str, root: Component) -> list[str]:
    found, open_ = [], [root]
    for line in text.replace("\r\n ", "").removesuffix("\r\n").split("\r\n"):
        match = LINE.fullmatch(line)
        if match is None:
            found.append(f"not a content line: {line[:40]}")
            continue
        name, params, value = match.groups()
        if name == "BEGIN":
            if value not in INSIDE.get(open_[-1].name, set()):
                found.append(f"{value} inside {open_[-1].name or 'nothing'}")
            open_[-1].inside.append(Component(value))
            open_.append(open_[-1].inside[-1])
        elif name == "END":
            if len(open_) == 1 or open_.pop().name != value:
                found.append(f"END:{value} ends something else")
                break
        else:
            open_[-1].lines.append((name, params, value))
    if len(open_) != 1:
        found.append("not ended")
    return found


def _properties(part: Component) -> list[str]:
    found = []
    times = Counter(name for name, _, _ in part.lines)
    found += [f"{part.name} must not have {name}" for name in times.keys() - KNOWN.get(part.name, set())]
    found += [f"{part.name} lacks {name}" for name in NEEDED.get(part.name, set()) - times.keys()]
    found += [f"{part.name} has {name} {many} times" for name, many in times.items() if many > 1]
    for name, _, value in part.lines:
        if name in FORM and not re.fullmatch(FORM[name], value):
            found.append(f"{name} has the wrong form: {value[:40]}")
        if name in TEXT and re.search(r"(?<!\\)(?:\\\\)*[,;]|(?<!\\)(?:\\\\)*\\(?:[^\\,;n]|$)", value):
            found.append(f"{name} is not escaped: {value[:40]}")
    for inner in part.inside:
        found += _properties(inner)
    return found


def _times(event: Component, zones: set[str]) -> list[str]:
    found, uid = [], event.get("UID")
    start, end = event.params("DTSTART"), event.params("DTEND")
    for name, params in (("DTSTART", start), ("DTEND", end)):
        form = r"\d{8}" if params == ";VALUE=DATE" else r"\d{8}T\d{6}" + ("" if params else "Z")
        if not re.fullmatch(form, event.get(name)):
            found.append(f"{uid}: {name}{params} has the wrong form")
        if params.startswith(";TZID=") and params.removeprefix(";TZID=") not in zones:
            found.append(f"{uid}: {name} in a zone the calendar does not hold")
    if (start == ";VALUE=DATE") != (end == ";VALUE=DATE"):
        found.append(f"{uid}: a day and a time")
    if start == end and event.get("DTEND") <= event.get("DTSTART"):
        found.append(f"{uid}: ends before it starts")
    return found
