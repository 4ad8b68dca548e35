"""Putting events together: heading, caps, order, entity tag, and never nothing."""

import gzip
from datetime import date, timedelta

import pytest

from calendars.ics import About, Limits, Rendered, assemble, fit, render, vtimezone
from tests.calendars.cases import all_day, calendar, timed, unfolded
from tests.calendars.linter import problems

TODAY = date(2026, 5, 9)


def many(count, first=TODAY, octets=100):
    return [Rendered(first + timedelta(days=n), f"u{n}", b"x" * octets) for n in range(count)]


def test_the_heading_says_what_strict_readers_ask_for():
    lines = unfolded(calendar(timed(), description="All of it").octets)
    for line in (
        "VERSION:2.0", "NAME:Hollow Farm", "X-WR-CALNAME:Hollow Farm", "DESCRIPTION:All of it", "COLOR:gold",
        "REFRESH-INTERVAL;VALUE=DURATION:PT4H", "X-PUBLISHED-TTL:PT4H",
    ):  # fmt: skip
        assert lines.count(line) == 1
    assert not [line for line in lines if line.startswith("METHOD")]


def test_a_calendar_without_events_still_holds_its_time_zone():
    body = calendar()
    assert problems(body.octets) == []
    assert unfolded(body.octets).count("BEGIN:VTIMEZONE") == 1


def test_a_calendar_of_nothing_at_all_is_refused():
    with pytest.raises(ValueError):
        assemble(About("x"), [], [])


def test_one_uid_twice_is_refused():
    event = Rendered(TODAY, "u", render(all_day()))
    with pytest.raises(ValueError):
        assemble(About("x"), [vtimezone("UTC", 2026)], [event, event])


def test_a_heading_colour_must_be_a_name():
    with pytest.raises(ValueError):
        About("x", color="#fff")


def test_the_tag_is_strong_quoted_and_follows_the_bytes():
    one, same, other = calendar(timed()), calendar(timed()), calendar(timed(sequence=1))
    assert one.etag == same.etag != other.etag
    assert one.etag.startswith('"')
    assert one.etag.endswith('"')


def test_the_gzip_form_is_the_same_bytes_every_time_and_unpacks_to_the_calendar():
    body = calendar(timed(), all_day())
    assert body.gzipped() == body.gzipped()
    assert gzip.decompress(body.gzipped()) == body.octets


def test_events_stand_in_order_of_day_and_uid_whatever_order_they_came_in():
    events = [
        Rendered(TODAY, "b", b""),
        Rendered(TODAY, "a", b""),
        Rendered(TODAY - timedelta(days=1), "c", b""),
    ]
    assert [event.uid for event in fit(events, TODAY).kept] == ["c", "a", "b"]


def test_a_thousand_events_fit_and_one_more_is_cut_from_the_far_end():
    assert fit(many(1000), TODAY).cut == 0
    fitted = fit(many(1001), TODAY)
    assert (fitted.cut, fitted.days) == (1, (TODAY, TODAY + timedelta(days=999)))


def test_past_days_are_cut_before_the_days_ahead():
    fitted = fit(many(60, TODAY - timedelta(days=30)), TODAY, limits=Limits(events=35))
    assert fitted.days == (TODAY - timedelta(days=5), TODAY + timedelta(days=29))


def test_a_body_never_grows_over_its_octets():
    events = [
        Rendered(entry.day, entry.uid, render(entry))
        for n in range(900)
        for entry in [
            all_day(uid=f"u{n}@farm", summary="🐣" * 200, description="é\n,;\\" * 400, end=date(2027, 1, 1))
        ]
    ]
    zones = [vtimezone("Africa/Casablanca", 2025)]
    fitted = fit(events, TODAY, zones=zones)
    about = About("🐣" * 300, "🐣,;\n" * 600)
    body = assemble(about, zones, fitted.kept)
    assert fitted.cut > 0
    assert 850_000 < len(body.octets) <= 900_000
    assert problems(body.octets) == []


def test_what_is_cut_leaves_no_hole_before_the_end():
    events = many(5, octets=100_000)
    events[2] = Rendered(events[2].day, "big", b"x" * 2_000_000)
    assert [event.uid for event in fit(events, TODAY).kept] == ["u0", "u1"]
