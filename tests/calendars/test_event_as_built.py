"""What we write straight as bytes equals, byte by byte, what icalendar writes from components of the same content."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.icalendar_build import built
from calendars.ics import Status, render
from tests.calendars.cases import HOSTILE, STAMP, all_day, timed

texts = st.one_of(
    st.sampled_from(HOSTILE), st.text(max_size=200), st.text(alphabet="\\,;\n^aü🐣", max_size=200)
)


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_texts_are_written_as_icalendar_writes_them(text):
    entry = all_day(summary=f"x{text}", description=text, location=text, categories=("Step", f"y{text}"))
    assert render(entry) == built(entry)


@settings(max_examples=150)
@given(data=st.data())
def test_any_entry_is_written_as_icalendar_writes_it(data):
    draw = data.draw
    start = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=draw(st.integers(0, 525_000)))
    shared = {
        "summary": f"x{draw(texts)}",
        "description": draw(texts),
        "location": draw(texts),
        "url": draw(
            st.sampled_from(["", "https://hens.example/?day=2026-05-09", "https://h.example/" + "a" * 90])
        ),
        "categories": tuple(draw(st.lists(texts, max_size=3))),
        "color": draw(st.sampled_from(["", "gold"])),
        "status": draw(st.sampled_from(Status)),
        "sequence": draw(st.integers(0, 10**6)),
        "transparent": draw(st.booleans()),
        "stamp": STAMP + timedelta(microseconds=draw(st.integers(0, 10**10))),
        "alarm_minutes": draw(st.sampled_from([None, 0, -15, -60, -1440, -10_080, 30, 420])),
    }
    if draw(st.booleans()):
        entry = all_day(uid="a" * draw(st.integers(1, 255)), **shared)
    else:
        zone = draw(st.sampled_from(["Europe/Berlin", "America/New_York", "Australia/Sydney", "UTC"]))
        entry = timed(
            start=start, end=start + timedelta(minutes=draw(st.integers(1, 3000))), zone=zone, **shared
        )
    assert render(entry) == built(entry)
