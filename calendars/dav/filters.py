"""The filters of calendar-query (RFC 4791 §9.7), over to-dos without repetition."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time
from functools import lru_cache
from typing import Any
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

from icalendar import Calendar, Component

from calendars.dav.answers import Refused
from calendars.dav.xml import CAL

Matches = Callable[[str], bool]
Test = Callable[[Component], bool]
_FIRST, _LAST = datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC)


def compiled(filter_: ET.Element, zone: str) -> Matches:
    """Return what says whether the text of a to-do matches. zone: whose midnight days begin at.

    Raises Refused: valid-filter, supported-filter, supported-collation.
    """
    outer = [each for each in filter_ if each.tag == f"{CAL}comp-filter"]
    if len(outer) != 1 or len(filter_) != 1:
        raise _invalid("A filter holds one comp-filter.")
    if _name(outer[0]) != "VCALENDAR":
        raise _invalid("A filter begins with VCALENDAR.")
    tests = [_inner(each, ZoneInfo(zone)) for each in outer[0]]
    # A query for all to-dos, which most are, parses none.
    return lambda body: all(test is None or test(parsed(body)) for test in tests)


@lru_cache(maxsize=2_048)
def parsed(body: str) -> Component:
    """Return the to-do in a text of ours."""
    return Calendar.from_ical(body).todos[0]


def _inner(wanted: ET.Element, zone: ZoneInfo) -> Test | None:
    """Return the test of a comp-filter right below VCALENDAR; None for one that all to-dos pass."""
    if wanted.tag != f"{CAL}comp-filter":
        raise _unsupported("Only components can be filtered.")
    absent = _is_not_defined(wanted)
    if _name(wanted) != "VTODO":
        # The lists hold nothing but to-dos.
        return None if absent or _name(wanted) == "VTIMEZONE" else lambda todo: False
    if absent:
        return lambda todo: False
    tests = [_test(each, zone) for each in wanted]
    return (lambda todo: all(test(todo) for test in tests)) if tests else None


def _test(wanted: ET.Element, zone: ZoneInfo) -> Test:
    if wanted.tag == f"{CAL}time-range":
        start, end = _range(wanted)
        return lambda todo: _overlaps(todo, start, end, zone)
    if wanted.tag == f"{CAL}prop-filter":
        return _property(wanted, zone)
    if wanted.tag == f"{CAL}comp-filter":
        absent = _is_not_defined(wanted)  # no to-do has anything inside
        return lambda todo: absent
    raise _unsupported("This filter is not understood here.")


def _property(wanted: ET.Element, zone: ZoneInfo) -> Test:
    name = _name(wanted)
    if _is_not_defined(wanted):
        return lambda todo: name not in todo
    tests: list[Callable[[Any], bool]] = []
    for each in wanted:
        if each.tag == f"{CAL}text-match":
            tests.append(_text_match(each))
        elif each.tag == f"{CAL}time-range":
            tests.append(_within(each, zone))
        else:
            raise _unsupported("Parameters can't be filtered here.")
    return lambda todo: name in todo and all(test(todo[name]) for test in tests)


def _text_match(wanted: ET.Element) -> Callable[[Any], bool]:
    collation = wanted.get("collation", "i;ascii-casemap")
    if collation not in ("i;ascii-casemap", "i;octet", "default"):
        raise Refused(f"{CAL}supported-collation", "Only i;ascii-casemap and i;octet are known here.")
    fold = (lambda text: text) if collation == "i;octet" else _ascii_upper
    sought, negated = fold(wanted.text or ""), wanted.get("negate-condition", "no") == "yes"
    return lambda value: (sought in fold(_text(value))) != negated


def _within(wanted: ET.Element, zone: ZoneInfo) -> Callable[[Any], bool]:
    start, end = _range(wanted)
    return lambda value: hasattr(value, "dt") and start <= _instant(value.dt, zone) < end


def _overlaps(todo: Component, start: datetime, end: datetime, zone: ZoneInfo) -> bool:
    """RFC 4791 §9.9, for a VTODO with DUE and maybe DTSTART."""
    due = _instant(todo.decoded("DUE"), zone)
    if "DTSTART" not in todo:
        return start < due and end >= due
    begins = _instant(todo.decoded("DTSTART"), zone)
    return (start < due or start <= begins) and (end > begins or end >= due)


def _instant(value: date, zone: ZoneInfo) -> datetime:
    if isinstance(value, datetime):
        return (value if value.tzinfo else value.replace(tzinfo=zone)).astimezone(UTC)
    return datetime.combine(value, time(), tzinfo=zone).astimezone(UTC)


def _range(wanted: ET.Element) -> tuple[datetime, datetime]:
    found = {}
    for name, otherwise in (("start", _FIRST), ("end", _LAST)):
        text = wanted.get(name)
        try:
            read = datetime.strptime(text, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC) if text else otherwise
        except ValueError as error:
            raise _invalid("A time range is said in UTC.") from error
        found[name] = read
    if found["start"] >= found["end"] or (found["start"], found["end"]) == (_FIRST, _LAST):
        raise _invalid("A time range ends after it starts.")
    return found["start"], found["end"]


def _is_not_defined(wanted: ET.Element) -> bool:
    return wanted.find(f"{CAL}is-not-defined") is not None


def _name(wanted: ET.Element) -> str:
    return wanted.get("name", "").upper()


def _text(value: Any) -> str:
    if hasattr(value, "cats"):
        return ",".join(map(str, value.cats))
    return value.to_ical().decode() if hasattr(value, "dt") else str(value)


def _ascii_upper(text: str) -> str:
    return "".join(letter.upper() if letter.isascii() else letter for letter in text)


def _invalid(said: str) -> Refused:
    return Refused(f"{CAL}valid-filter", said)


def _unsupported(said: str) -> Refused:
    return Refused(f"{CAL}supported-filter", said)
