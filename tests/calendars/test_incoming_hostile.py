"""Calendars that mean harm, or are none: refused by a reason, within bounds of time and memory, nothing hangs."""

from __future__ import annotations

import time
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendars.incoming import bounds, budget, expanding, program, reading
from calendars.incoming.records import Reading, Unreadable
from calendars.incoming.words import WHY
from tests.calendars.incoming_world import answered, asked, calendar, said, whole

MAY_4 = date(2026, 5, 4)
GOOD = whole("good", MAY_4)


def why(octets: bytes) -> str:
    with pytest.raises(Unreadable) as refused:
        answered(octets)
    assert refused.value.why in WHY
    return refused.value.why


@pytest.mark.parametrize(
    "octets",
    [
        b"",
        b"<html><body>Sign in</body></html>",
        b"BEGIN:VCARD\r\nEND:VCARD\r\n",
        b"BEGIN:VCALENDAR\r\n",
        calendar(GOOD)[:-20],
        calendar(GOOD).replace(b"END:VEVENT\r\n", b""),
        b"BEGIN:VCALENDAR\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        b"\x00" * 500,
        b"BEGIN:VCALENDAR",
    ],
)
def test_what_is_no_whole_calendar_is_refused(octets: bytes):
    assert why(octets) == "calendar"


def test_too_many_bytes_are_not_looked_at():
    assert why(b"BEGIN:VCALENDAR\r\n" + b" " * bounds.MOST_BYTES) == "large"


@pytest.mark.parametrize(
    "octets",
    [
        calendar(*["UID:1"] * (bounds.MOST_COMPONENTS + 1)),
        calendar("UID:1\nSUMMARY:" + "x" * (bounds.MOST_LINE + 1)),
        b"BEGIN:VCALENDAR\r\n" + b"\n" * bounds.MOST_LINES + b"\r\nEND:VCALENDAR\r\n",
        calendar("UID:1\nSUMMARY:" + "x\n " * (bounds.MOST_LINE + 1)),
        calendar(
            "UID:1\n"
            + "EXDATE:"
            + ",".join(["20260504"] * 9000)
            + "\nEXDATE:"
            + "20260504," * 9000
            + "\nEXDATE:"
            + "1," * 9000
        ),
        b"BEGIN:VCALENDAR\r\n" * 50 + b"END:VCALENDAR\r\n" * 50,
        calendar(
            GOOD,
            head="BEGIN:VTIMEZONE\nTZID:X\nBEGIN:STANDARD\nDTSTART:19700101T000000\nTZOFFSETFROM:+0000\n"
            "TZOFFSETTO:+0100\nRRULE:FREQ=SECONDLY\nEND:STANDARD\nEND:VTIMEZONE\n",
        ),
    ],
    ids=["components", "line", "lines", "folded line", "dates", "depth", "zone by the second"],
)
def test_too_much_of_anything_is_refused_before_it_is_read(octets: bytes, monkeypatch):
    monkeypatch.setattr(expanding.Calendar, "from_ical", lambda octets: pytest.fail("it was read"))
    assert why(octets) == "many"


@pytest.mark.parametrize(
    "rule",
    [
        "RRULE:FREQ=SECONDLY",
        "RRULE:FREQ=MINUTELY;COUNT=999999999",
        "RRULE:FREQ=HOURLY;INTERVAL=1",
        "RRULE:FREQ=DAILY;INTERVAL=0",
        "RRULE:FREQ=DAILY;COUNT=-1",
        "RRULE:FREQ=DAILY;BYHOUR=0,1,2,3,4,5,6,7,8,9,10,11;BYMINUTE=0,1,2,3,4,5,6,7,8,9,10;BYSECOND=0,1,2,3,4,5",
        "RRULE:FREQ=FORTNIGHTLY",
        "RRULE:FREQ=DAILY;BYEASTER=1;RSCALE=HEBREW",
        "RRULE:",
    ],
)
def test_a_rule_nobody_means_costs_its_own_entry_alone(rule: str):
    hostile = f"UID:bad\nSUMMARY:Bad\nDTSTART:19900101T000000Z\nDTEND:19900101T000100Z\n{rule}"
    begun = time.monotonic()
    found = answered(calendar(hostile, GOOD))
    assert said(found) == ["05-04..05-04"]
    assert found.skipped == 1
    assert time.monotonic() - begun < 5


def test_a_rule_from_long_ago_is_followed_so_far_and_no_further():
    long_ago = "UID:1\nSUMMARY:Old\nDTSTART;VALUE=DATE:19600101\nRRULE:FREQ=DAILY"
    assert len(answered(calendar(long_ago)).spans) == 1
    older = long_ago.replace("1960", "1760")
    assert answered(calendar(older)).skipped == 1


def test_many_such_rules_together_end_the_reading(monkeypatch):
    monkeypatch.setattr(budget, "MOST_STEPS_IN_ALL", 10_000)
    rules = [f"UID:{n}\nDTSTART;VALUE=DATE:20100101\nRRULE:FREQ=DAILY" for n in range(3)]
    assert why(calendar(*rules)) == "many"


def test_more_occurrences_than_are_kept_end_the_reading(monkeypatch):
    monkeypatch.setattr(expanding, "MOST_OCCURRENCES", 20)
    rules = [whole(str(n), MAY_4, more="RRULE:FREQ=DAILY;COUNT=11") for n in range(2)]
    assert why(calendar(*rules)) == "many"


def test_an_entry_of_a_thousand_years_fills_the_days_asked_about_and_no_more():
    assert said(answered(calendar(whole("1", date(1500, 1, 1), date(2500, 1, 1))), asked(days=10))) == [
        "05-01..05-10"
    ]
    assert answered(calendar("UID:1\nDTSTART;VALUE=DATE:20260504\nDURATION:P9999999D")).skipped == 1


def test_the_process_of_its_own_reads_the_same():
    octets, question = calendar(GOOD), asked()
    assert reading.read(octets, question) == answered(octets, question)
    with pytest.raises(Unreadable, match="many"):
        reading.read(
            calendar(*[f"UID:{n}\nDTSTART;VALUE=DATE:19700101\nRRULE:FREQ=DAILY" for n in range(200)]),
            question,
        )


def test_reading_ends_with_its_time():
    """A day that never comes is looked for up to the year 9999."""
    endless = "UID:1\nDTSTART:20000101T000000Z\nRRULE:FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30"
    octets = calendar(*[endless.replace("UID:1", f"UID:{n}") for n in range(50)])
    begun = time.monotonic()
    with pytest.raises(Unreadable, match="many"):
        reading.read(octets, asked(), seconds=1.5)
    assert time.monotonic() - begun < 10


def test_a_program_that_breaks_is_no_calendar(monkeypatch):
    monkeypatch.setattr(reading, "_PROGRAM", "calendars.incoming.no_such_program")
    with pytest.raises(Unreadable, match="many"):
        reading.read(calendar(GOOD), asked())


def test_out_of_memory_is_said_as_too_large(monkeypatch):
    def out(octets, question):
        raise MemoryError

    monkeypatch.setattr(expanding, "occurrences", out)
    assert program.answer(calendar(GOOD), asked()) == {"why": "many"}


LINES = st.sampled_from(
    [
        "DTSTART;VALUE=DATE:20260504",
        "DTSTART:20260504T080000Z",
        "DTSTART;TZID=Nowhere/Here:20260504T080000",
        "DTEND;VALUE=DATE:20260501",
        "DTEND:99991231T235959Z",
        "DURATION:-P1D",
        "DURATION:PT1S",
        "RRULE:FREQ=WEEKLY;BYDAY=XX",
        "RRULE:FREQ=MONTHLY;BYMONTHDAY=31;UNTIL=20270101",
        "RDATE;VALUE=PERIOD:20260601T000000Z/PT5H",
        "RDATE:garbage",
        "EXDATE;TZID=Europe/Berlin:20260504T100000",
        "RECURRENCE-ID:20260511",
        "RECURRENCE-ID;RANGE=THISANDFUTURE:20260511T080000Z",
        "SEQUENCE:many",
        "STATUS:cancelled",
        "SUMMARY;LANGUAGE=de:A\\, B",
        "BEGIN:VALARM\nEND:VALARM",
        "X-\x00:\x07",
        "no colon at all",
        ":",
        "\u2028\u202e",
    ]
)


def read_or_reason(octets: bytes) -> Reading | str:
    try:
        return answered(octets, QUESTION)
    except Unreadable as refused:
        return refused.why


QUESTION = asked(least_hours=1)


@settings(max_examples=150)
@given(st.lists(st.lists(LINES, max_size=7).map("\n".join), max_size=4), st.booleans())
def test_whatever_lines_come_there_is_a_reading_or_a_reason(entries: list[str], one_uid: bool):
    uid = "UID:1\n" if one_uid else ""
    found = read_or_reason(calendar(*[uid + entry for entry in entries]))
    if isinstance(found, str):
        assert found in WHY
        return
    assert all(end < following for (_start, end), (following, _end) in pairwise(found.spans))
    assert all(QUESTION.first <= start < end <= QUESTION.last for start, end in found.spans)


@settings(max_examples=100)
@given(st.binary(max_size=400))
def test_whatever_bytes_come_there_is_a_reading_or_a_reason(octets: bytes):
    found = read_or_reason(b"BEGIN:VCALENDAR\r\n" + octets + b"\r\nEND:VCALENDAR\r\n")
    assert isinstance(found, Reading) or found in WHY
