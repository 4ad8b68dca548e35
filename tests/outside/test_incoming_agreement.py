"""Our reading of other people's calendars against another program's.

Judge: `recurring-ical-events` (Nicco Kunzmann), which expands whole calendars by RFC 5545. What both
follow is generated: whole days and times in zones, rules, added and excepted dates, moved and cancelled occurrences.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from hypothesis import given, settings
from hypothesis import strategies as st

from calendars.incoming import expanding
from tests.calendars.incoming_world import asked, calendar

FIRST, DAYS = date(2026, 3, 1), 300
ZONES = ("Europe/Berlin", "America/New_York", "Australia/Adelaide", "UTC")
DAY = timedelta(days=1)


def ours(octets: bytes, zone: str) -> list[tuple[str, str, str]]:
    found, skipped = expanding.occurrences(octets, asked(first=FIRST, days=DAYS, zone=ZoneInfo(zone)))
    assert skipped == 0
    return sorted((one.title, _said(one.start), _said(one.end)) for one in found)


def theirs(octets: bytes, zone: str) -> list[tuple[str, str, str]]:
    here = ZoneInfo(zone)
    begins = datetime.combine(FIRST, datetime.min.time(), here)
    ends = datetime.combine(FIRST + DAYS * DAY, datetime.min.time(), here)
    found = recurring_ical_events.of(icalendar.Calendar.from_ical(octets)).between(begins, ends)
    told = []
    for event in found:
        if str(event.get("STATUS", "")) != "CANCELLED":
            told.append((str(event["SUMMARY"]), _said(event["DTSTART"].dt), _said(event["DTEND"].dt)))
    return sorted(told)


def _said(value: date | datetime) -> str:
    return value.astimezone(UTC).isoformat() if isinstance(value, datetime) else value.isoformat()


PARTS = {
    "DAILY": st.just(""),
    "WEEKLY": st.sampled_from(["", ";BYDAY=MO,WE", ";BYDAY=SA,SU;WKST=SU", ";BYDAY=FR"]),
    "MONTHLY": st.sampled_from(
        ["", ";BYMONTHDAY=31", ";BYMONTHDAY=-1", ";BYDAY=2TU", ";BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1"]
    ),
    "YEARLY": st.sampled_from(
        ["", ";BYMONTH=3,10;BYMONTHDAY=29", ";BYMONTH=6;BYDAY=-1SU", ";BYWEEKNO=20;BYDAY=MO"]
    ),
}


@st.composite
def rules(draw: st.DrawFn, whole: bool) -> str:
    kind = draw(st.sampled_from(sorted(PARTS)))
    text = f"RRULE:FREQ={kind};INTERVAL={draw(st.integers(1, 3))}{draw(PARTS[kind])}"
    ends = draw(st.sampled_from(["", "count", "until"]))
    if ends == "count":
        return f"{text};COUNT={draw(st.integers(1, 30))}"
    if ends == "until":
        until = FIRST + draw(st.integers(0, 300)) * DAY
        return f"{text};UNTIL={until:%Y%m%d}" + ("" if whole else "T120000Z")
    return text


@st.composite
def series(draw: st.DrawFn, uid: str) -> list[str]:
    """An entry that repeats, with exceptions. It begins on a day its own rule names as often as not."""
    whole = draw(st.booleans())
    first = FIRST + draw(st.integers(-200, 200)) * DAY
    # Hours that exist and come once on every day, in every zone of these.
    hour, length = draw(st.integers(4, 20)), draw(st.integers(1, 3))
    zone = draw(st.sampled_from(ZONES))
    place = ";VALUE=DATE" if whole else f";TZID={zone}"

    def at(day: date, add: int = 0) -> str:
        return f"{day + (add * DAY if whole else 0 * DAY):%Y%m%d}" + (
            "" if whole else f"T{hour + add:02}0000"
        )

    lines = [
        f"UID:{uid}",
        f"SUMMARY:{uid}",
        f"DTSTART{place}:{at(first)}",
        f"DTEND{place}:{at(first, length)}",
    ]
    gone = draw(st.lists(st.integers(0, 60), max_size=3, unique=True))
    more = draw(st.lists(st.integers(1, 90), max_size=2, unique=True))
    repeats = draw(st.booleans())
    rule = draw(rules(whole)) if repeats else ""
    entry = [*lines, rule] if rule else lines
    entry += [f"EXDATE{place}:{at(first + n * DAY)}" for n in gone if n]
    entry += [f"RDATE{place}:{at(first + n * DAY)}" for n in more if n not in gone]
    found = ["\n".join(entry)]
    if "FREQ=DAILY;INTERVAL=1" in rule and "COUNT" not in rule and "UNTIL" not in rule:
        for n in draw(st.lists(st.integers(1, 40).filter(lambda n: n not in gone), max_size=2, unique=True)):
            moved = first + (n + draw(st.integers(-3, 3))) * DAY
            state = draw(st.sampled_from(["", "STATUS:CANCELLED"]))
            part = [
                f"UID:{uid}",
                f"SUMMARY:{uid} moved",
                f"DTSTART{place}:{at(moved)}",
                f"DTEND{place}:{at(moved, 1)}",
            ]
            found.append("\n".join([*part, f"RECURRENCE-ID{place}:{at(first + n * DAY)}", state]).strip())
    return found


@settings(max_examples=200)
@given(st.data(), st.sampled_from(ZONES))
def test_both_read_the_same(data: st.DataObject, zone: str):
    entries = [entry for uid in ("a", "b") for entry in data.draw(series(uid))]
    octets = calendar(*entries)
    assert ours(octets, zone) == theirs(octets, zone)


@pytest.mark.parametrize("day", [date(2026, 3, 28), date(2026, 10, 24)])
@pytest.mark.parametrize("hour", [0, 1, 2, 3])
def test_both_read_the_same_over_the_change_of_the_clocks(day: date, hour: int):
    """Hours that are missing or come twice in Berlin included."""
    entry = (
        f"UID:1\nSUMMARY:1\nDTSTART;TZID=Europe/Berlin:{day:%Y%m%d}T{hour:02}3000\n"
        f"DTEND;TZID=Europe/Berlin:{day:%Y%m%d}T{hour:02}4500\nRRULE:FREQ=DAILY;COUNT=3"
    )
    octets = calendar(entry)
    assert [one[1] for one in ours(octets, "Europe/Berlin")] == [
        one[1] for one in theirs(octets, "Europe/Berlin")
    ]
