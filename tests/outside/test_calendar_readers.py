"""Our calendars read by other people's code: the same events, texts and instants that the model meant.

Standard: RFC 5545 (iCalendar) and RFC 7986 (calendar properties). Readers, each independent of the others:
- `ical` (Allen Porter; strict pydantic parser, own recurrence and time zone code),
- `icalendar` (Plone collective), through its typed getters; it also builds our components, so it never judges alone,
- `recurring-ical-events` (Nicco Kunzmann), which expands what `icalendar` parsed,
- `dateutil.tz.tzical`, a reader of VTIMEZONE alone,
- `calcurse -i` (C), where it is installed; where it is not, its test says so.
"""

from __future__ import annotations

import io
import shutil
import subprocess
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from dateutil.tz import tzical
from hypothesis import given, settings
from hypothesis import strategies as st
from ical.calendar import Calendar
from ical.calendar_stream import IcsCalendarStream

from calendars.ics import vtimezone
from tests.calendars.cases import HOSTILE, STAMP, all_day, calendar, timed
from tests.calendars.linter import problems

ZONES = ["Europe/Berlin", "America/New_York", "Australia/Sydney", "America/Santiago", "Asia/Kolkata", "UTC"]
FIRST, LAST = date(2026, 1, 1), date(2027, 6, 30)

days = st.dates(FIRST, LAST)
texts = st.one_of(st.sampled_from(HOSTILE), st.text(max_size=120))


@st.composite
def entries(draw, zone):
    """Up to twelve entries of both kinds; timed ones at any minute, so on the hours the clocks skip or repeat too."""
    found = []
    for number in range(draw(st.integers(1, 12))):
        day, text = draw(days), draw(texts)
        shared = {
            "uid": f"e{number}@farm",
            "summary": f"{number} {text}",
            "description": text,
            "sequence": number,
        }
        if draw(st.booleans()):
            found.append(all_day(start=day, end=day + timedelta(days=draw(st.integers(1, 40))), **shared))
        else:
            start = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(
                minutes=draw(st.integers(0, 1439))
            )
            local = start.astimezone(ZoneInfo(zone))
            start -= timedelta(hours=2 * local.fold)  # our rounds never begin in the second pass of an hour
            length = timedelta(minutes=draw(st.integers(10, 600)))
            found.append(timed(start=start, end=start + length, zone=zone, **shared))
    return found


def meant(found):
    return {(e.uid, e.start, e.end) for e in found}


def plain(value):
    """Return a day as it is and an instant in UTC, whatever zone object the reader put into it."""
    return value.astimezone(UTC) if isinstance(value, datetime) else value


def read_strictly(octets: bytes) -> Calendar:
    return IcsCalendarStream.calendar_from_ics(octets.decode())


def expanded_by_ical(octets: bytes):
    events = (
        read_strictly(octets)
        .timeline_tz(UTC)
        .overlapping(datetime(2025, 6, 1, tzinfo=UTC), datetime(2028, 1, 1, tzinfo=UTC))
    )
    return {(e.uid, plain(e.dtstart), plain(e.dtend)) for e in events}


def expanded_by_recurring_ical_events(octets: bytes):
    parsed = icalendar.Calendar.from_ical(octets)
    events = recurring_ical_events.of(parsed).between(date(2025, 6, 1), date(2028, 1, 1))
    return {(str(e["UID"]), plain(e.start), plain(e.end)) for e in events}


@pytest.mark.parametrize("zone", ZONES)
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_two_expansions_by_other_hands_give_the_days_and_instants_we_meant(zone, data):
    found = data.draw(entries(zone))
    octets = calendar(*found, zone=zone).octets
    assert problems(octets) == []
    assert expanded_by_ical(octets) == meant(found)
    assert expanded_by_recurring_ical_events(octets) == meant(found)


@settings(max_examples=60, deadline=None)
@given(texts, texts)
def test_texts_come_back_as_they_were_written(title, body):
    entry = all_day(summary=f"x{title}", description=f"y{body}", location=f"z{title}")
    octets = calendar(entry).octets
    (strict,) = read_strictly(octets).events
    (typed,) = icalendar.Calendar.from_ical(octets).events
    assert (strict.summary, strict.description, strict.location) == (
        entry.summary,
        entry.description,
        entry.location,
    )
    assert (str(typed["SUMMARY"]), str(typed["DESCRIPTION"])) == (entry.summary, entry.description)


def test_the_typed_getters_of_icalendar_read_every_property():
    entry = timed(
        description="Why", location="Brooder 1", categories=("Round", "a,b"), color="gold", sequence=3
    )
    parsed = icalendar.Calendar.from_ical(calendar(entry, description="All of it").octets)
    (event,) = parsed.events
    assert (parsed.calendar_name, parsed.description, parsed.color) == ("Hollow Farm", "All of it", "gold")
    assert parsed["REFRESH-INTERVAL"].dt == timedelta(hours=4)
    assert (event.uid, event.sequence, event.categories, event.color) == (
        entry.uid,
        3,
        ["Round", "a,b"],
        "gold",
    )
    assert (event.DTSTAMP, event.LAST_MODIFIED) == (STAMP, STAMP)
    assert (event.start.isoformat(), event.end.isoformat()) == (
        "2026-05-09T07:00:00+02:00",
        "2026-05-09T07:25:00+02:00",
    )
    assert (str(event["STATUS"]), str(event["TRANSP"])) == ("CONFIRMED", "TRANSPARENT")


def test_ical_reads_every_property():
    entry = timed(
        description="Why",
        location="Brooder 1",
        categories=("Round",),
        url="https://hens.example/?day=2026-05-09",
    )
    (event,) = read_strictly(calendar(entry).octets).events
    assert (event.uid, event.dtstamp, event.last_modified, event.sequence) == (entry.uid, STAMP, STAMP, 0)
    assert (str(event.url), event.categories, event.status, event.transparency) == (
        entry.url, ["Round"], "CONFIRMED", "TRANSPARENT",
    )  # fmt: skip


@pytest.mark.parametrize(
    "zone", ["Europe/Berlin", "America/New_York", "Australia/Sydney", "America/Santiago", "America/Nuuk"]
)
@settings(max_examples=60, deadline=None)
@given(seconds=st.integers(0, 20 * 365 * 86_400))
def test_two_other_readers_of_our_time_zones_agree_with_the_zone_itself(zone, seconds):
    """`dateutil.tz.tzical` and `icalendar`'s Timezone.to_tz, 2025 to 2044: beyond the year 2038 as before it."""
    local = (datetime(2025, 1, 2, tzinfo=UTC) + timedelta(seconds=seconds)).astimezone(ZoneInfo(zone))
    octets, wall = vtimezone(zone, 2025), local.replace(tzinfo=None)
    if local.fold or (local + timedelta(hours=3)).utcoffset() != local.utcoffset():
        return  # within hours of a change readers differ in what they call a repeated time
    assert (
        wall.replace(tzinfo=tzical(io.StringIO(octets.decode())).get(zone)).utcoffset() == local.utcoffset()
    )
    rules = icalendar.Timezone.from_ical(octets).to_tz(lookup_tzid=False)
    assert wall.replace(tzinfo=rules).utcoffset() == local.utcoffset()


def test_a_whole_farms_calendar_is_read_by_both_to_the_same_events(world):
    from tests.calendars.conftest import subscribe

    world.add_batch("Spring", housing="Brooder 1")
    octets = subscribe(world.by).get().content
    strict, expanded = expanded_by_ical(octets), expanded_by_recurring_ical_events(octets)
    assert strict == expanded
    assert len(strict) == octets.count(b"BEGIN:VEVENT\r\n") > 300


@pytest.mark.skipif(shutil.which("calcurse") is None, reason="not tested: calcurse is not installed")
def test_calcurse_imports_every_event(tmp_path):
    found = [all_day(uid=f"d{n}@farm") for n in range(3)] + [timed(uid=f"t{n}@farm") for n in range(4)]
    (tmp_path / "x.ics").write_bytes(calendar(*found).octets)
    command = ["calcurse", "-D", str(tmp_path / "data"), "-i", str(tmp_path / "x.ics")]
    said = subprocess.run(command, capture_output=True, text=True, check=True, timeout=30)
    assert "4 apps / 3 events / 0 todos / 0 skipped" in said.stdout
