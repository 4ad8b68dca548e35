"""One entry, one VEVENT: refused when it cannot be right, written right otherwise."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calendars.ics import Status, render
from calendars.ics.entry import COLORS
from tests.calendars.cases import HOSTILE, STAMP, all_day, calendar, timed, unfolded
from tests.calendars.linter import problems

REFUSED = {
    "an end before the start": {"end": date(2026, 5, 8)},
    "an inclusive end": {"end": date(2026, 5, 9)},
    "a day and an instant": {"end": datetime(2026, 5, 10, tzinfo=UTC)},
    "a day in a zone": {"zone": "Europe/Berlin"},
    "a hex colour": {"color": "#ffd700"},
    "an address that runs": {"url": "javascript:alert(1)"},
    "an address with a line end": {"url": "https://hens.example/\r\nATTACH:x"},
    "an address with a blank": {"url": "https://hens.example/a b"},
    "a UID with a line end": {"uid": "a\r\nb"},
    "a UID with a comma": {"uid": "a,b"},
    "an empty UID": {"uid": ""},
    "a UID of 256 characters": {"uid": "u" * 256},
    "no title": {"summary": "\x00 \r\n"},
    "a negative sequence": {"sequence": -1},
    "a naive stamp": {"stamp": datetime(2026, 5, 1)},
    "an unknown status": {"status": "DONE"},
}


@pytest.mark.parametrize("changes", REFUSED.values(), ids=REFUSED.keys())
def test_an_entry_is_refused_for(changes):
    with pytest.raises(ValueError):
        all_day(**changes)


def test_a_timed_entry_without_a_zone_is_refused():
    with pytest.raises(ValueError):
        timed(zone="")


def test_a_timed_entry_in_an_unknown_zone_is_refused():
    with pytest.raises((ValueError, KeyError)):
        timed(zone="Europe/Atlantis")


def test_a_day_is_written_with_its_type_and_an_exclusive_end():
    lines = unfolded(render(all_day()))
    assert "DTSTART;VALUE=DATE:20260509" in lines
    assert "DTEND;VALUE=DATE:20260510" in lines


def test_a_time_is_written_as_the_clock_on_the_wall_in_its_zone():
    lines = unfolded(render(timed()))
    assert "DTSTART;TZID=Europe/Berlin:20260509T070000" in lines
    assert "DTEND;TZID=Europe/Berlin:20260509T072500" in lines


def test_an_event_that_ends_in_the_second_pass_of_a_repeated_hour_is_written_in_utc():
    start = datetime(2026, 10, 24, 23, 50, tzinfo=UTC)  # 01:50 summer time; the clocks go back at 03:00
    lines = unfolded(render(timed(start=start, end=start + timedelta(minutes=80))))
    assert "DTSTART:20261024T235000Z" in lines
    assert "DTEND:20261025T011000Z" in lines


def test_stamp_and_modification_are_the_instant_of_the_content_in_whole_seconds():
    lines = unfolded(render(all_day(stamp=STAMP.replace(microsecond=999_999))))
    assert "DTSTAMP:20260501T100000Z" in lines
    assert "LAST-MODIFIED:20260501T100000Z" in lines


def test_chores_make_nobody_busy_unless_asked_to():
    assert b"TRANSP:TRANSPARENT\r\n" in render(all_day())
    assert b"TRANSP:OPAQUE\r\n" in render(all_day(transparent=False))


def test_a_typed_backslash_n_stays_a_backslash_and_an_n():
    lines = unfolded(render(all_day(summary=r"C:\New \n")))
    assert r"SUMMARY:C:\\New \\n" in lines


def test_a_comma_in_a_category_does_not_make_two():
    assert r"CATEGORIES:a\,b,c" in unfolded(render(all_day(categories=("a,b", "c"))))


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_text_changes_no_count_and_breaks_no_rule(text):
    body = calendar(
        all_day(summary=f"a{text}", description=text, location=text, categories=(text,)),
        timed(summary=f"b{text}", description=text * 3),
        name=text or "x",
        description=text,
    )
    assert problems(body.octets) == []
    lines = unfolded(body.octets)
    assert [
        lines.count(f"{word}:{part}") for word in ("BEGIN", "END") for part in ("VEVENT", "VCALENDAR")
    ] == [2, 1, 2, 1]
    assert not [line for line in lines if line.startswith(("ATTACH", "UID:injected"))]


@given(
    st.text(st.characters(), max_size=300),
    st.text(st.characters(), max_size=3000),
    st.text(st.characters(), max_size=99),
)
def test_any_text_makes_a_sound_calendar(title, body, place):
    entry = all_day(summary=f"x{title}", description=body, location=place)
    assert problems(calendar(entry, name=f"x{place}").octets) == []


@given(st.lists(st.sampled_from(["\\", "n", "N", ",", ";", "a", "\n", "é", "🐣"]), max_size=200).map("".join))
def test_lines_fold_at_75_octets_and_unfold_to_what_was_written(text):
    octets = render(all_day(summary="x", description=f"x{text}x"))
    assert max(map(len, octets.split(b"\r\n"))) <= 75
    written = next(line for line in unfolded(octets) if line.startswith("DESCRIPTION:"))
    out, chars = "", iter(written.removeprefix("DESCRIPTION:"))
    for char in chars:
        out += {"n": "\n"}.get(second := next(chars), second) if char == "\\" else char
    assert out == f"x{text}x"


def test_equal_entries_are_rendered_once():
    before = render.cache_info().hits
    assert render(all_day(uid="once@farm")) is render(all_day(uid="once@farm"))
    assert render.cache_info().hits == before + 1


def test_the_digest_follows_what_is_seen_and_not_the_stamp():
    entry = all_day()
    assert entry.at(STAMP + timedelta(days=1), 7).digest() == entry.digest()
    changes = [
        {"summary": "x"},
        {"description": "x"},
        {"location": "x"},
        {"url": "https://x.example"},
        {"color": "tan"},
    ]
    changes += [
        {"categories": ("x",)},
        {"end": date(2026, 5, 11)},
        {"status": Status.CANCELLED},
        {"transparent": False},
    ]
    digests = {all_day(**change).digest() for change in changes}
    assert (len(digests), entry.digest() in digests) == (9, False)


def test_every_colour_we_allow_is_a_plain_name():
    assert all(color.isalpha() and color.islower() for color in COLORS)
