"""A finished calendar read back as an app lists it, one event of it alone, and as a table."""

import csv
import io
from datetime import date

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendars import preview
from tests.calendars.cases import HOSTILE, all_day, calendar, timed
from tests.calendars.linter import problems

ZONE = "Europe/Berlin"
DAY = date(2026, 5, 9)


def rows(octets: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(preview.table(octets, ZONE), newline="")))


def test_events_are_listed_by_day_and_time_with_whole_days_first():
    body = calendar(
        timed(), all_day(uid="a@farm", location="Pen 1"), all_day(uid="b@farm", start=date(2026, 5, 8))
    )
    found = preview.of(body.octets, ZONE, date(2026, 5, 1))
    assert [(day, [(event.at, event.title) for event in events]) for day, events in found.days] == [
        (date(2026, 5, 8), [("", "Grit")]),
        (DAY, [("", "Grit"), ("07:00–07:25", "Morning round")]),
    ]
    assert found.days[1][1][0].place == "Pen 1"
    assert (found.name, found.total, found.more) == ("Hollow Farm", 3, 0)


def test_times_are_those_of_the_links_zone():
    found = preview.of(calendar(timed()).octets, "America/New_York", DAY)
    assert found.days[0][1][0].at == "01:00–01:25"


def test_what_is_over_is_not_listed_but_counted():
    found = preview.of(calendar(all_day(), timed()).octets, ZONE, date(2026, 6, 1))
    assert (found.days, found.total) == ((), 2)


def test_a_longer_event_is_listed_until_its_last_day():
    body = calendar(all_day(end=date(2026, 5, 12)))
    assert preview.of(body.octets, ZONE, date(2026, 5, 11)).days
    assert not preview.of(body.octets, ZONE, date(2026, 5, 12)).days


def test_a_long_list_is_cut_and_says_by_how_much():
    body = calendar(*(all_day(uid=f"e{number}@farm") for number in range(preview.MOST_LISTED + 3)))
    found = preview.of(body.octets, ZONE, DAY)
    assert sum(len(events) for _day, events in found.days) == preview.MOST_LISTED
    assert (found.more, found.total) == (3, preview.MOST_LISTED + 3)


def test_cancelled_and_alarmed_events_are_told_apart():
    body = calendar(all_day(uid="a@farm", status="CANCELLED"), timed(alarm_minutes=-10))
    (_day, (gone, rings)), *_rest = preview.of(body.octets, ZONE, DAY).days
    assert (gone.cancelled, gone.alarm, rings.cancelled, rings.alarm) == (True, False, False, True)


@pytest.mark.parametrize("text", HOSTILE)
def test_whatever_was_typed_is_listed_as_the_calendar_has_it(text):
    entry = all_day(summary=f"x{text}", description=text)
    (listed,) = preview.of(calendar(entry).octets, ZONE, DAY).days[0][1]
    assert (listed.title, listed.body) == (entry.summary, entry.description)


def test_one_event_alone_is_a_sound_calendar_with_the_bytes_that_were_published():
    entries = [timed(uid="a@farm"), timed(uid="b@farm", summary="é" * 90), all_day(uid="ab@farm")]
    whole = calendar(*entries).octets
    alone = preview.only(whole, "b@farm")
    assert problems(alone) == []
    (event,) = icalendar.Calendar.from_ical(alone).walk("VEVENT")
    assert str(event["UID"]) == "b@farm"
    assert alone[alone.index(b"BEGIN:VEVENT") : alone.index(b"END:VEVENT")] in whole


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(HOSTILE), min_size=1, max_size=5), st.data())
def test_any_event_can_be_taken_out_whatever_the_others_say(texts, data):
    entries = [
        all_day(uid=f"e{n}@farm", summary=f"{n} {text}", description=f"UID:e0@farm\n{text}")
        for n, text in enumerate(texts)
    ]
    chosen = data.draw(st.sampled_from(entries))
    alone = preview.only(calendar(*entries).octets, chosen.uid)
    assert problems(alone) == []
    (event,) = icalendar.Calendar.from_ical(alone).walk("VEVENT")
    assert str(event["SUMMARY"]) == chosen.summary


def test_a_long_uid_that_is_folded_is_found():
    uid = "step:" + "x" * 200 + "@farm"
    assert problems(preview.only(calendar(all_day(uid=uid), timed()).octets, uid)) == []


@pytest.mark.parametrize("uid", ["", "nobody@farm", "e1", ".*", "e1@farm\r\nX", "é@farm"])
def test_an_event_that_is_not_there_is_not_found(uid):
    assert preview.only(calendar(all_day(uid="e1@farm")).octets, uid) is None


def test_a_table_has_one_row_an_event_under_its_headings():
    entry = timed(
        location="Pen 1", description="one\ntwo", categories=("Round",), url="https://hens.example/"
    )
    head, row = rows(calendar(entry).octets)
    assert head == ["Day", "Last day", "Time", "Title", "Place", "Details", "Kind", "Cancelled", "Page"]
    assert row == [
        *("2026-05-09", "2026-05-09", "07:00–07:25", "Morning round", "Pen 1", "one\ntwo"),
        *("Round", "", "https://hens.example/"),
    ]


@settings(max_examples=80, deadline=None)
@given(st.one_of(st.sampled_from(HOSTILE), st.text(max_size=60)), st.sampled_from("=+-@\t\r"))
def test_no_cell_of_a_table_is_run_as_a_formula(text, sign):
    hostile = sign + text
    entry = all_day(summary=f"{hostile}x", description=hostile, location=hostile, categories=(f"{hostile}x",))
    (_head, row) = rows(calendar(entry).octets)
    assert len(row) == 9
    assert not [cell for cell in row if cell.startswith(tuple("=+-@\t\r"))]
