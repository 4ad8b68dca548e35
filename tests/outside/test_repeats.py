"""Our rules against others' readings of the same text.

Standard: RFC 5545 (iCalendar), section 3.8.5.3 "Recurrence Rule", whose own examples are written out below by name;
those with several days of a month, parts of a year or times of day lie outside our subset. Readers:
- `dateutil.rrule` (Gustavo Niemeyer and others), the usual implementation in Python,
- `recurring-ical-events` (Nicco Kunzmann), which expands a whole event, its EXDATE included.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

import icalendar
import pytest
import recurring_ical_events
from dateutil.rrule import rrulestr
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning.repeats import RepeatError, days, first_day, next_day, parse, write
from farm.planning.window import Window
from tests.planning.repeat_strategies import begun

TUESDAY = date(1997, 9, 2)
FRIDAY = date(1997, 9, 5)


def dated(text):
    """Days as RFC 5545 lists them: "1997 Sep 2 4; Oct 2"."""
    found, year, month = [], 0, ""
    for word in text.replace(";", " ").split():
        if len(word) == 4 and word.isdigit():
            year = int(word)
        elif word.isdigit():
            found.append(datetime.strptime(f"{year} {month} {word}", "%Y %b %d").date())
        elif "-" in word:
            first, last = map(int, word.split("-"))
            begin = datetime.strptime(f"{year} {month} {first}", "%Y %b %d").date()
            found += [begin + timedelta(days=n) for n in range(last - first + 1)]
        else:
            month = word
    return tuple(found)


#: name -> (start, the rule's text, the days listed). Ends given as instants (19971224T000000Z, before that day's nine
#: o'clock) are written as the day before; an endless rule is compared as far as the list goes. WKST=SU is left out
#: where ours refuses it; in those examples it makes no difference.
EXAMPLES = {
    "Daily for 10 occurrences": (TUESDAY, "FREQ=DAILY;COUNT=10", "1997 Sep 2-11"),
    "Daily until December 24, 1997": (
        TUESDAY,
        "FREQ=DAILY;UNTIL=19971223",
        "1997 Sep 2-30; Oct 1-25 26-31; Nov 1-30; Dec 1-23",
    ),
    "Every other day - forever": (
        TUESDAY,
        "FREQ=DAILY;INTERVAL=2",
        "1997 Sep 2 4 6 8 10 12 14 16 18 20 22 24 26 28 30; Oct 2 4 6 8 10 12 14 16 18 20 22 24 26 28 30;"
        " Nov 1 3 5 7 9 11 13 15 17 19 21 23 25 27 29; Dec 1 3",
    ),
    "Every 10 days, 5 occurrences": (TUESDAY, "FREQ=DAILY;INTERVAL=10;COUNT=5", "1997 Sep 2 12 22; Oct 2 12"),
    "Weekly for 10 occurrences": (
        TUESDAY,
        "FREQ=WEEKLY;COUNT=10",
        "1997 Sep 2 9 16 23 30; Oct 7 14 21 28; Nov 4",
    ),
    "Weekly until December 24, 1997": (
        TUESDAY,
        "FREQ=WEEKLY;UNTIL=19971223",
        "1997 Sep 2 9 16 23 30; Oct 7 14 21 28; Nov 4 11 18 25; Dec 2 9 16 23",
    ),
    "Every other week - forever": (
        TUESDAY,
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "1997 Sep 2 16 30; Oct 14 28; Nov 11 25; Dec 9 23; 1998 Jan 6 20; Feb 3 17",
    ),
    "Weekly on Tuesday and Thursday for five weeks, by date": (
        TUESDAY,
        "FREQ=WEEKLY;UNTIL=19971006;WKST=SU;BYDAY=TU,TH",
        "1997 Sep 2 4 9 11 16 18 23 25 30; Oct 2",
    ),
    "Weekly on Tuesday and Thursday for five weeks, by count": (
        TUESDAY,
        "FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH",
        "1997 Sep 2 4 9 11 16 18 23 25 30; Oct 2",
    ),
    "Every other week on Monday, Wednesday, and Friday until December 24, 1997": (
        date(1997, 9, 1),
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971223;BYDAY=MO,WE,FR",
        "1997 Sep 1 3 5 15 17 19 29; Oct 1 3 13 15 17 27 29 31; Nov 10 12 14 24 26 28; Dec 8 10 12 22",
    ),
    "Every other week on Tuesday and Thursday, for 8 occurrences": (
        TUESDAY,
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;BYDAY=TU,TH",
        "1997 Sep 2 4 16 18 30; Oct 2 14 16",
    ),
    "Monthly on the first Friday for 10 occurrences": (
        FRIDAY,
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "1997 Sep 5; Oct 3; Nov 7; Dec 5; 1998 Jan 2; Feb 6; Mar 6; Apr 3; May 1; Jun 5",
    ),
    "Monthly on the first Friday until December 24, 1997": (
        FRIDAY,
        "FREQ=MONTHLY;UNTIL=19971223;BYDAY=1FR",
        "1997 Sep 5; Oct 3; Nov 7; Dec 5",
    ),
    "An example where the days generated makes a difference because of WKST, Monday": (
        date(1997, 8, 5),
        "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO",
        "1997 Aug 5 10 19 24",
    ),
}


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_of_the_standard_falls_on_the_days_it_lists(name):
    start, text, listed = EXAMPLES[name]
    rule, expected = parse(text), dated(listed)
    endless = rule.until is None and rule.count is None
    window = Window(start, (expected[-1] - start).days + 1 if endless else 400)
    assert days(rule, start, window) == expected


def test_the_same_rule_with_weeks_from_sunday_would_fall_on_other_days_and_is_refused():
    with pytest.raises(RepeatError, match="Weeks begin on Monday"):
        parse("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU")


@pytest.mark.parametrize(
    "text",
    [
        "FREQ=YEARLY;UNTIL=20000131;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA",
        "FREQ=DAILY;UNTIL=20000131;BYMONTH=1",
        "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "FREQ=MONTHLY;BYMONTHDAY=-3",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU",
        "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
        "FREQ=YEARLY;BYDAY=20MO",
        "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO",
        "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "FREQ=MINUTELY;INTERVAL=15;COUNT=6",
        "FREQ=HOURLY;INTERVAL=3;UNTIL=19970902T170000Z",
        "FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5",
    ],
)
def test_the_standards_examples_outside_our_subset_are_refused_not_misread(text):
    with pytest.raises(RepeatError):
        parse(text)


@given(begun())
@settings(max_examples=200, deadline=None)
def test_dateutil_finds_the_same_days(case):
    start, rule, window = case
    theirs = rrulestr(write(rule), dtstart=datetime(start.year, start.month, start.day))
    inside = theirs.between(at(window.start), at(window.end - timedelta(days=1)), inc=True)
    assert days(rule, start, window) == tuple(found.date() for found in inside)


@given(begun(intervals=st.integers(1, 366)))
@settings(max_examples=100, deadline=None)
def test_dateutil_finds_the_same_next_day(case):
    start, rule, window = case
    theirs = rrulestr(write(rule), dtstart=at(start)).after(at(window.start))
    assert next_day(rule, start, window.start) == (theirs and theirs.date())


@given(begun(), st.sets(st.integers(0, 300), max_size=8))
@settings(max_examples=60, deadline=None)
def test_a_calendar_reader_given_the_first_day_shows_the_same_days(case, left_out):
    start, rule, window = case
    try:
        first = first_day(rule, start)
    except RepeatError:
        return
    exceptions = {first + timedelta(days=n) for n in left_out}
    shown = recurring_ical_events.of(calendar(first, rule, exceptions)).between(window.start, window.end)
    assert days(rule, start, window, exceptions) == tuple(sorted(each["DTSTART"].dt for each in shown))


def at(day):
    return datetime(day.year, day.month, day.day)


def calendar(first, rule, exceptions):
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//test//test//EN",
        "BEGIN:VEVENT",
        "UID:1@farm",
        "DTSTAMP:20260101T000000Z",
        f"DTSTART;VALUE=DATE:{first:%Y%m%d}",
        f"RRULE:{write(rule)}",
        *(f"EXDATE;VALUE=DATE:{day:%Y%m%d}" for day in sorted(exceptions)),
        "SUMMARY:Oil the hinges",
        "END:VEVENT",
        "END:VCALENDAR",
        "",
    ]
    return icalendar.Calendar.from_ical("\r\n".join(lines))
