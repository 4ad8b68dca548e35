"""The linter finds what it is for: a calendar with one defect each, and none in a sound one."""

import pytest

from tests.calendars.cases import all_day, calendar, timed
from tests.calendars.linter import problems

SOUND = calendar(
    all_day(
        description="Why: less heat.\nAge: day 14", location="Brooder 1", url="https://hens.example/?day=1"
    ),
    timed(categories=("Round",), color="gold"),
).octets

DEFECTS = {
    "LF line ends": (b"\r\n", b"\n"),
    "a lone CR": (b"SUMMARY:Grit", b"SUMMARY:Gr\rit"),
    "no last line end": (b"END:VCALENDAR\r\n", b"END:VCALENDAR"),
    "a blank line": (b"BEGIN:VEVENT\r\n", b"\r\nBEGIN:VEVENT\r\n"),
    "a line of blanks": (b"SUMMARY:Grit", b"SUMMARY:Grit\r\n   "),
    "a long line": (b"SUMMARY:Grit", b"SUMMARY:" + b"x" * 68),
    "a fold inside a code point": (b"SUMMARY:Grit", b"SUMMARY:\xc3\r\n \xa9"),
    "latin-1": (b"SUMMARY:Grit", b"SUMMARY:\xe9"),
    "a control character": (b"SUMMARY:Grit", b"SUMMARY:Gr\x07it"),
    "a bidi override": (b"SUMMARY:Grit", "SUMMARY:\u202etirG".encode()),
    "a byte order mark": (b"BEGIN:VCALENDAR", b"\xef\xbb\xbfBEGIN:VCALENDAR"),
    "no version": (b"VERSION:2.0\r\n", b""),
    "another version": (b"VERSION:2.0", b"VERSION:1.0"),
    "no product": (b"PRODID:-//Featherdays//Calendars 1//EN\r\n", b""),
    "a method": (b"VERSION:2.0\r\n", b"VERSION:2.0\r\nMETHOD:PUBLISH\r\n"),
    "no name": (b"\r\nNAME:Hollow Farm", b""),
    "two names": (b"X-WR-CALNAME:Hollow Farm", b"X-WR-CALNAME:Hollow"),
    "a refresh interval without its type": (b"REFRESH-INTERVAL;VALUE=DURATION", b"REFRESH-INTERVAL"),
    "another refresh interval": (b"DURATION:PT4H", b"DURATION:4H"),
    "a hex colour": (b"COLOR:gold", b"COLOR:#ffd700"),
    "an unknown property": (b"TRANSP:TRANSPARENT", b"TRANSP:TRANSPARENT\r\nX-ALT-DESC:<b>"),
    "an attachment": (b"SUMMARY:Grit", b"SUMMARY:Grit\r\nATTACH:http://example.org"),
    "an alarm": (b"END:VEVENT", b"BEGIN:VALARM\r\nEND:VALARM\r\nEND:VEVENT"),
    "a to-do": (b"END:VCALENDAR", b"BEGIN:VTODO\r\nEND:VTODO\r\nEND:VCALENDAR"),
    "an event that is not ended": (b"TRANSP:TRANSPARENT\r\nEND:VEVENT\r\n", b"TRANSP:TRANSPARENT\r\n"),
    "two calendars": (b"END:VCALENDAR\r\n", b"END:VCALENDAR\r\n" + SOUND),
    "truncated": (b"END:VCALENDAR\r\n", b""),
    "no stamp": (b"DTSTAMP:20260501T100000Z\r\n", b""),
    "a stamp in local time": (b"DTSTAMP:20260501T100000Z", b"DTSTAMP:20260501T100000"),
    "no modification": (b"LAST-MODIFIED:20260501T100000Z\r\n", b""),
    "two titles": (b"SUMMARY:Grit", b"SUMMARY:Grit\r\nSUMMARY:Grit"),
    "no identity": (b"UID:step:batch:1/grit@farm\r\n", b""),
    "an identity twice": (b"UID:round:2026-05-09/morning@farm", b"UID:step:batch:1/grit@farm"),
    "an inclusive end": (b"DTEND;VALUE=DATE:20260510", b"DTEND;VALUE=DATE:20260509"),
    "no end": (b"DTEND;VALUE=DATE:20260510\r\n", b""),
    "a day without its type": (b"DTSTART;VALUE=DATE:20260509", b"DTSTART:20260509"),
    "floating time": (b"DTSTART;TZID=Europe/Berlin:20260509T070000", b"DTSTART:20260509T070000"),
    "a zone that is not there": (b"TZID=Europe/Berlin:20260509T070000", b"TZID=Asia/Tokyo:20260509T070000"),
    "an unescaped comma": (b"Why: less heat", b"Why: less, heat"),
    "an unescaped backslash": (b"Why: less heat", b"Why: \\less heat"),
    "an unknown status": (b"STATUS:CONFIRMED", b"STATUS:DONE"),
    "a zone rule that ends": (b"BYDAY=-1SU", b"BYDAY=-1SU;UNTIL=20371231T000000Z"),
    "no offset": (b"TZOFFSETTO:+0200\r\n", b""),
    "no colon": (b"SUMMARY:Grit", b"SUMMARY Grit"),
}


def test_a_sound_calendar_has_no_problem():
    assert problems(SOUND) == []


@pytest.mark.parametrize("old, new", DEFECTS.values(), ids=DEFECTS.keys())
def test_the_linter_finds_a_single_defect(old, new):
    broken = SOUND.replace(old, new)
    assert broken != SOUND
    assert problems(broken) != []


def test_an_empty_calendar_is_a_problem():
    empty = b"".join(line + b"\r\n" for line in SOUND.split(b"\r\n")[:8]) + b"END:VCALENDAR\r\n"
    assert "nothing in it" in problems(empty)
