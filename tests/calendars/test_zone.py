"""The time zones we write say what the zone itself says, in both hemispheres and beyond 2038."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendars.ics import vtimezone
from tests.calendars.cases import calendar, timed
from tests.calendars.linter import problems
from tests.calendars.zones import offset_at

ZONES = [
    "Europe/Berlin", "Europe/London", "Europe/Dublin", "America/New_York", "America/Los_Angeles", "America/Santiago",
    "America/Nuuk", "America/Mexico_City", "America/Asuncion", "Australia/Sydney", "Australia/Lord_Howe",
    "Pacific/Auckland", "Asia/Kolkata", "Asia/Kathmandu", "Asia/Tokyo", "Africa/Nairobi", "Africa/Casablanca",
    "Africa/Cairo", "Asia/Gaza", "Europe/Istanbul", "America/Sao_Paulo", "UTC", "Pacific/Kiritimati",
]  # fmt: skip
START, END = datetime(2020, 1, 2, tzinfo=UTC), datetime(2045, 12, 30, tzinfo=UTC)


def said(zone, instant, first_year):
    local = instant.astimezone(ZoneInfo(zone))
    return offset_at(vtimezone(zone, first_year), local.replace(tzinfo=None)), local


@pytest.mark.parametrize("zone", ZONES)
@given(seconds=st.integers(0, int((END - START).total_seconds())))
def test_the_offset_is_the_zones_own_at_any_instant_from_2020_to_2045(zone, seconds):
    offset, local = said(zone, START + timedelta(seconds=seconds), 2020)
    if local.fold == 0:  # the second pass of a repeated hour has no local name in a VTIMEZONE
        assert offset == local.utcoffset()


@pytest.mark.parametrize("zone", ZONES)
def test_every_week_of_2039_has_the_right_offset(zone):
    for week in range(52):
        offset, local = said(zone, datetime(2039, 1, 3, 12, tzinfo=UTC) + timedelta(weeks=week), 2026)
        assert offset == local.utcoffset(), local


@pytest.mark.parametrize(
    "zone", ["Europe/Berlin", "America/New_York", "Australia/Sydney", "America/Santiago"]
)
def test_a_zone_with_summer_time_is_two_open_rules(zone):
    text = vtimezone(zone, 2026).decode()
    counts = [
        text.count(word)
        for word in ("BEGIN:STANDARD", "BEGIN:DAYLIGHT", "RRULE:", "RDATE", "UNTIL", "DTSTART")
    ]
    assert counts == [1, 1, 2, 0, 0, 2]
    assert len(text) < 450


def test_a_zone_without_summer_time_is_one_standard_time():
    assert vtimezone("Asia/Kolkata", 2026).decode().split("\r\n")[2:7] == [
        "BEGIN:STANDARD", "DTSTART:20260101T000000", "TZOFFSETFROM:+0530", "TZOFFSETTO:+0530", "TZNAME:IST",
    ]  # fmt: skip


def test_new_york_reads_as_the_act_of_2005_says():
    """Source: Energy Policy Act of 2005, section 110: second Sunday of March to first Sunday of November, 2 o'clock."""
    text = vtimezone("America/New_York", 2026).decode()
    assert "DTSTART:20070311T020000\r\nRRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=2SU\r\n" in text
    assert "DTSTART:20071104T020000\r\nRRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=1SU\r\n" in text


def test_the_same_zone_is_the_same_bytes_year_after_year_where_rules_stand():
    assert vtimezone("Europe/Berlin", 2024) == vtimezone("Europe/Berlin", 2031)


def test_an_unknown_zone_is_refused():
    with pytest.raises(ZoneInfoNotFoundError):
        vtimezone("Europe/Atlantis", 2026)


@given(st.sampled_from(sorted(available_timezones() - {"localtime", "Factory"})))
def test_any_zone_makes_a_sound_calendar(zone):
    assert problems(calendar(timed(zone=zone), zone=zone).octets) == []
