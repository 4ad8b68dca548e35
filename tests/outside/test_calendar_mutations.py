"""Mutation score of the checkers: our output with one defect each, and which checker sees it.

A checker sees a defect when it refuses the calendar or reads something else from it than the model meant. The byte
linter knows rules alone, the readers know what was meant. The table is printed with the test's report; a defect that
nobody sees fails. Left out where a program is missing: its column says so.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import icalendar
import pytest
from dateutil.tz import tzical

from calendars.ics import About, Rendered, assemble, render, vtimezone
from tests.calendars import linter, readers
from tests.calendars.cases import STAMP, ZONE, all_day, timed
from tests.calendars.readers import meant, titled

ENTRIES = [
    all_day(
        summary="Move 25 pullets, all → Pen 3",
        description="Why: they are 8 weeks old; less heat, more room.\nLook at: legs, wings, crops.\nKükenfutter läuft "
        "aus, Grünzeug später, damit die Küken nicht übermütig werden.",
        location="Brooder 1", url="https://hens.example/?day=2026-05-09", categories=("Step",), color="sienna",
        sequence=2,
    ),
    all_day(uid="step:batch:1/leap@farm", summary="Leap", start=date(2028, 2, 29), end=date(2028, 3, 1)),
    timed(categories=("Round", "Outdoors"), color="gold"),
    timed(
        uid="round:2026-03-29/morning@farm", summary="After the change",
        start=datetime(2026, 3, 29, 5, tzinfo=UTC), end=datetime(2026, 3, 29, 5, 40, tzinfo=UTC),
    ),
    timed(
        uid="round:2026-03-27/morning@farm", summary="Before the change",
        start=datetime(2026, 3, 27, 6, tzinfo=UTC), end=datetime(2026, 3, 27, 6, 40, tzinfo=UTC),
    ),
    timed(
        uid="round:2026-12-29/morning@farm", summary="In winter", status="CANCELLED", sequence=1,
        start=datetime(2026, 12, 29, 6, tzinfo=UTC), end=datetime(2026, 12, 29, 6, 40, tzinfo=UTC),
    ),
]  # fmt: skip
ABOUT = About("Hollow Farm", "Steps and rounds, of the whole farm.", "goldenrod")
SOUND = assemble(ABOUT, [vtimezone(ZONE, 2025)], [Rendered(e.day, e.uid, render(e)) for e in ENTRIES]).octets
EVENT = b"BEGIN:VEVENT\r\n"
ZONE_PART = re.compile(rb"BEGIN:VTIMEZONE.*?END:VTIMEZONE\r\n", re.S)


def put(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    """Replace the first of `old`, which has to be there."""

    def mutate(octets: bytes) -> bytes:
        assert old in octets, old
        return octets.replace(old, new, 1)

    return mutate


def all_of(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    return lambda octets: octets.replace(old, new)


def unfold_first(octets: bytes) -> bytes:
    return octets.replace(b"\r\n ", b"", 1)


def fold_in_code_point(octets: bytes) -> bytes:
    return octets.replace("ü".encode(), b"\xc3\r\n \xbc", 1)


def twice_the_first_event(octets: bytes) -> bytes:
    at, end = octets.index(EVENT), octets.index(b"END:VEVENT\r\n") + len(b"END:VEVENT\r\n")
    return octets[:end] + octets[at:end] + octets[end:]


def without_the_first_event(octets: bytes) -> bytes:
    at, end = octets.index(EVENT), octets.index(b"END:VEVENT\r\n") + len(b"END:VEVENT\r\n")
    return octets[:at] + octets[end:]


DEFECTS: dict[str, Callable[[bytes], bytes]] = {
    # bytes and lines
    "bare LF line ends": all_of(b"\r\n", b"\n"),
    "one bare LF": put(b"\r\nSUMMARY", b"\nSUMMARY"),
    "a lone CR in a title": put(b"SUMMARY:Leap", b"SUMMARY:Le\rap"),
    "missing fold": unfold_first,
    "fold inside a code point": fold_in_code_point,
    "a fold without its blank": put(b"\r\n ", b"\r\n"),
    "a blank line": put(EVENT, b"\r\n" + EVENT),
    "a byte order mark": put(b"BEGIN:VCALENDAR", b"\xef\xbb\xbfBEGIN:VCALENDAR"),
    "latin-1": all_of("ü".encode(), b"\xfc"),
    "a NUL in a title": put(b"SUMMARY:Leap", b"SUMMARY:Le\x00ap"),
    "a bidi override in a title": put(b"SUMMARY:Leap", "SUMMARY:\u202eLeap".encode()),
    "no last line end": lambda octets: octets.removesuffix(b"\r\n"),
    "truncated in an event": lambda octets: octets[: octets.rindex(b"STATUS")],
    "truncated before the end": lambda octets: octets.removesuffix(b"END:VCALENDAR\r\n"),
    "truncated between events": lambda octets: octets[: octets.rindex(EVENT)],
    "a line without a colon": put(b"SUMMARY:Leap", b"SUMMARY Leap"),
    "two calendars": lambda octets: octets + octets,
    "empty": lambda _octets: b"",
    # the calendar
    "no VERSION": put(b"VERSION:2.0\r\n", b""),
    "VERSION 1.0": put(b"VERSION:2.0", b"VERSION:1.0"),
    "no PRODID": put(b"PRODID:-//Featherdays//Calendars 1//EN\r\n", b""),
    "a METHOD": put(b"VERSION:2.0\r\n", b"VERSION:2.0\r\nMETHOD:PUBLISH\r\n"),
    "no NAME": put(b"\r\nNAME:Hollow Farm", b""),
    "two names": put(b"X-WR-CALNAME:Hollow Farm", b"X-WR-CALNAME:Farm"),
    "hex colour of the calendar": put(b"COLOR:goldenrod", b"COLOR:#daa520"),
    "hex colour of an event": put(b"COLOR:sienna", b"COLOR:#a0522d"),
    "REFRESH-INTERVAL without VALUE=DURATION": put(b"REFRESH-INTERVAL;VALUE=DURATION", b"REFRESH-INTERVAL"),
    "REFRESH-INTERVAL of days without P": put(b"DURATION:PT4H", b"DURATION:4H"),
    "no component at all": lambda octets: octets[: octets.index(b"BEGIN:VTIMEZONE")] + b"END:VCALENDAR\r\n",
    # days and instants
    "inclusive DTEND": put(b"DTEND;VALUE=DATE:20260510", b"DTEND;VALUE=DATE:20260509"),
    "inclusive DTEND over a leap day": put(b"DTEND;VALUE=DATE:20280301", b"DTEND;VALUE=DATE:20280229"),
    "a day too many": put(b"DTEND;VALUE=DATE:20260510", b"DTEND;VALUE=DATE:20260511"),
    "a leap day too early": put(b"DTSTART;VALUE=DATE:20280229", b"DTSTART;VALUE=DATE:20280228"),
    "30 February": put(b"DTSTART;VALUE=DATE:20280229", b"DTSTART;VALUE=DATE:20280230"),
    "no DTEND of a timed event": put(b"DTEND;TZID=Europe/Berlin:20260509T072500\r\n", b""),
    "no DTSTART": put(b"DTSTART;VALUE=DATE:20260509\r\n", b""),
    "missing VALUE=DATE": put(b"DTSTART;VALUE=DATE:20260509", b"DTSTART:20260509"),
    "DTSTART a day, DTEND a time": put(b"DTEND;VALUE=DATE:20260510", b"DTEND:20260510T000000Z"),
    "end before start": put(b"DTEND;TZID=Europe/Berlin:20260509T07", b"DTEND;TZID=Europe/Berlin:20260509T06"),
    "floating time": put(b"DTSTART;TZID=Europe/Berlin:20260509", b"DTSTART:20260509"),
    "local time called UTC": put(b"DTSTART;TZID=Europe/Berlin:20260509T070000",
                                 b"DTSTART:20260509T070000Z"),
    "TZID with a Z": put(b"TZID=Europe/Berlin:20260509T070000", b"TZID=Europe/Berlin:20260509T070000Z"),
    "an hour off": put(b"TZID=Europe/Berlin:20260509T070000", b"TZID=Europe/Berlin:20260509T060000"),
    "hour 24": put(b"TZID=Europe/Berlin:20260509T070000", b"TZID=Europe/Berlin:20260509T240000"),
    "a repetition nobody meant": put(b"SUMMARY:Leap", b"RRULE:FREQ=DAILY;COUNT=2\r\nSUMMARY:Leap"),
    # time zones
    "TZID without VTIMEZONE": lambda octets: ZONE_PART.sub(b"", octets),
    "another TZID in the VTIMEZONE": put(b"TZID:Europe/Berlin", b"TZID:Europe/Vienna"),
    "no summer time": lambda octets: re.sub(rb"BEGIN:DAYLIGHT.*?END:DAYLIGHT\r\n", b"", octets, flags=re.S),
    "offsets the wrong way round": lambda octets: octets.replace(b"+0100", b"+x").replace(b"+0200", b"+0100")
                                                        .replace(b"+x", b"+0200"),
    "summer time a week early": put(b"BYMONTH=3;BYDAY=-1SU", b"BYMONTH=3;BYDAY=-2SU"),
    "summer time a month late": put(b"BYMONTH=3;BYDAY=-1SU", b"BYMONTH=4;BYDAY=-1SU"),
    "no TZOFFSETTO": put(b"TZOFFSETTO:+0200\r\n", b""),
    "a zone rule that has ended": put(b"BYMONTH=3;BYDAY=-1SU", b"BYMONTH=3;BYDAY=-1SU;UNTIL=20251231T000000Z"),
    # identity and versions
    "duplicate UID": put(b"UID:step:batch:1/leap@farm", b"UID:step:batch:1/grit@farm"),
    "no UID": put(b"UID:step:batch:1/leap@farm\r\n", b""),
    "another UID": put(b"UID:step:batch:1/leap@farm", b"UID:0b5e8f8e@farm"),
    "an event twice": twice_the_first_event,
    "an event lost": without_the_first_event,
    "wrong SEQUENCE": put(b"SEQUENCE:2", b"SEQUENCE:1"),
    "SEQUENCE lost": put(b"SEQUENCE:2\r\n", b""),
    "SEQUENCE not a number": put(b"SEQUENCE:2", b"SEQUENCE:two"),
    "no DTSTAMP": put(b"DTSTAMP:20260501T100000Z\r\n", b""),
    "DTSTAMP is now": put(b"DTSTAMP:20260501T100000Z", b"DTSTAMP:20260501T100001Z"),
    "DTSTAMP in local time": put(b"DTSTAMP:20260501T100000Z", b"DTSTAMP:20260501T100000"),
    "no LAST-MODIFIED": put(b"LAST-MODIFIED:20260501T100000Z\r\n", b""),
    "cancelled called confirmed": put(b"STATUS:CANCELLED", b"STATUS:CONFIRMED"),
    "an unknown STATUS": put(b"STATUS:CANCELLED", b"STATUS:DONE"),
    "an unknown TRANSP": put(b"TRANSP:TRANSPARENT", b"TRANSP:CLEAR"),
    # text
    "unescaped comma": put(rb"Why: they are 8 weeks old\; less heat\, ", rb"Why: they are 8 weeks old\; less heat, "),
    "unescaped semicolon": put(rb"weeks old\;", rb"weeks old;"),
    "unescaped backslash": put(b"SUMMARY:Leap", rb"SUMMARY:Le\ap"),
    "escaped twice": put(rb"pullets\,", rb"pullets\\\,"),
    "a raw line break": put(rb"room.\nLook", b"room.\r\nLook"),
    "two categories run together": put(b"Round,Outdoors", rb"Round\,Outdoors"),
    "a title lost": put(b"SUMMARY:Leap\r\n", b""),
    "two titles": put(b"SUMMARY:Leap\r\n", b"SUMMARY:Leap\r\nSUMMARY:Leap\r\n"),
    "a place cut short": put(b"LOCATION:Brooder 1", b"LOCATION:Brooder"),
    "a URL that is none": put(b"URL:https://hens.example", b"URL:javascript:alert(1)//"),
    # injected
    "an injected event": put(b"SUMMARY:Leap\r\n", b"SUMMARY:Leap\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:injected\r\n"
                             b"DTSTAMP:20260501T100000Z\r\nDTSTART:20260509T070000Z\r\n"),
    "an injected alarm": put(b"END:VEVENT", b"BEGIN:VALARM\r\nACTION:EMAIL\r\nTRIGGER:-PT1H\r\nEND:VALARM\r\n"
                             b"END:VEVENT"),
    "an injected to-do": put(b"END:VCALENDAR", b"BEGIN:VTODO\r\nUID:x\r\nDTSTAMP:20260501T100000Z\r\nEND:VTODO\r\n"
                             b"END:VCALENDAR"),
    "an injected attachment": put(b"SUMMARY:Leap", b"ATTACH:http://example.org/evil\r\nSUMMARY:Leap"),
    "an injected organiser": put(b"SUMMARY:Leap", b"ORGANIZER:mailto:eve@example.org\r\nSUMMARY:Leap"),
    "an injected HTML body": put(b"SUMMARY:Leap", b"X-ALT-DESC;FMTTYPE=text/html:<b>x</b>\r\nSUMMARY:Leap"),
    "the calendar ended early": put(b"SUMMARY:Leap\r\n", b"SUMMARY:Leap\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"),
    "END of something else": put(b"END:VEVENT", b"END:VTODO"),
}  # fmt: skip


def differs(read: Callable[[bytes], list[readers.Fact]]) -> Callable[[bytes], bool]:
    """Return the checker that a reader is, given what was meant."""

    def sees(octets: bytes) -> bool:
        try:
            found = read(octets)
        except Exception:  # each library refuses in its own words
            return True
        return len(found) != len(ENTRIES) or set(found) != meant(ENTRIES)

    return sees


def calcurse_sees(octets: bytes) -> bool:
    try:
        return titled(readers.by_calcurse(octets)) != titled(meant(ENTRIES))
    except Exception:
        return True


def tzical_sees(octets: bytes) -> bool:
    """Read the time zones alone, with `dateutil`, and set each timed entry's start against them."""
    try:
        zones = tzical(io.StringIO(b"".join(ZONE_PART.findall(octets)).decode()))
        for entry in ENTRIES:
            if entry.zone:
                local = entry.start.astimezone(ZoneInfo(entry.zone))
                told = local.replace(tzinfo=zones.get(entry.zone))
                if told.utcoffset() != local.utcoffset():
                    return True
    except Exception:
        return True
    return False


CHECKERS: dict[str, Callable[[bytes], bool]] = {
    "linter": lambda octets: bool(linter.problems(octets)),
    "ical": differs(readers.by_ical),
    "icalendar": differs(readers.by_icalendar),
    "recurring": differs(readers.by_recurring),
    "tzical": tzical_sees,
    **({"ical.js": differs(readers.by_icaljs)} if readers.HAS_ICALJS else {}),
    **({"calcurse": calcurse_sees} if readers.HAS_CALCURSE else {}),
}


def table(caught: dict[str, list[str]]) -> str:
    """Return which checker saw which defect, and how many of all each saw."""
    width = max(map(len, caught))
    lines = ["", " " * width + "".join(f"{name:>11}" for name in CHECKERS)]
    for defect, by in caught.items():
        lines.append(f"{defect:<{width}}" + "".join(f"{'x' if name in by else '.':>11}" for name in CHECKERS))
    score = [sum(name in by for by in caught.values()) for name in CHECKERS]
    lines.append(f"{f'caught of {len(caught)}':<{width}}" + "".join(f"{many:>11}" for many in score))
    alone = [sum(by == [name] for by in caught.values()) for name in CHECKERS]
    lines.append(f"{'caught by no other':<{width}}" + "".join(f"{many:>11}" for many in alone))
    missing = {"ical.js", "calcurse"} - CHECKERS.keys()
    lines += [f"not run, not installed here: {', '.join(sorted(missing))}"] if missing else []
    return "\n".join(lines)


@pytest.mark.parametrize("name", CHECKERS)
def test_no_checker_finds_fault_with_what_we_publish(name):
    assert not CHECKERS[name](SOUND)


@pytest.mark.parametrize("defect", DEFECTS)
def test_each_defect_is_a_change(defect):
    assert DEFECTS[defect](SOUND) != SOUND


def test_every_single_defect_is_caught_by_at_least_one_checker(capsys):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        caught = {
            defect: [name for name, sees in CHECKERS.items() if sees(mutate(SOUND))]
            for defect, mutate in DEFECTS.items()
        }
    with capsys.disabled():
        print(table(caught))
    assert len(caught) >= 40
    assert [defect for defect, by in caught.items() if not by] == []


def test_the_readers_catch_much_of_it_without_our_linter():
    """The linter is ours: were it wrong the same way as the writer, others would have to see it."""
    others = [sees for name, sees in CHECKERS.items() if name != "linter"]
    seen = sum(any(sees(mutate(SOUND)) for sees in others) for mutate in DEFECTS.values())
    assert seen >= 0.6 * len(DEFECTS)


def test_stamp_and_zone_are_the_ones_the_readers_were_told():
    assert icalendar.Calendar.from_ical(SOUND).events[0].DTSTAMP == STAMP
