"""Which days of somebody's calendar are days away: whole days, hours over a round, words, rules, exceptions, zones."""

from __future__ import annotations

from datetime import date, time
from zoneinfo import ZoneInfo

import pytest

from calendars.incoming import records
from calendars.incoming.records import Entry
from tests.calendars.incoming_world import answered, asked, calendar, said, whole
from tests.conftest import TODAY

MAY_4 = date(2026, 5, 4)  # a Monday


def timed(start: str, end: str, more: str = "", uid: str = "t", zone: str = "Europe/Berlin") -> str:
    return f"UID:{uid}\nSUMMARY:Shift\nDTSTART;TZID={zone}:{start}\nDTEND;TZID={zone}:{end}\n{more}"


def test_the_end_of_whole_days_is_the_day_after_the_last():
    assert said(answered(calendar(whole("1", MAY_4, date(2026, 5, 6))))) == ["05-04..05-06"]


@pytest.mark.parametrize("end", ["", "DTEND;VALUE=DATE:20260504\n", "DURATION:P1D\n"])
def test_a_day_without_an_end_or_that_ends_when_it_begins_is_one_day(end: str):
    entry = f"UID:1\nSUMMARY:Trip\nDTSTART;VALUE=DATE:20260504\n{end}"
    assert said(answered(calendar(entry))) == ["05-04..05-04"]


def test_days_that_touch_or_overlap_become_one_span():
    entries = [
        whole("1", MAY_4, date(2026, 5, 6)),
        whole("2", date(2026, 5, 7)),
        whole("3", date(2026, 5, 5)),
    ]
    assert said(answered(calendar(*entries))) == ["05-04..05-07"]


def test_only_the_days_asked_about_are_told():
    before, into = whole("1", date(2026, 4, 1)), whole("2", date(2026, 4, 28), date(2026, 5, 2))
    after, out = whole("3", date(2027, 1, 1)), whole("4", date(2026, 5, 9), date(2026, 6, 30))
    found = answered(calendar(before, into, after, out), asked(days=10))
    assert said(found) == ["05-01..05-02", "05-09..05-10"]
    assert {entry.first for entry in found.entries} == {date(2026, 4, 28), date(2026, 5, 9)}


def test_entries_with_times_count_only_when_asked_for():
    octets = calendar(timed("20260504T060000", "20260504T140000"))
    assert said(answered(octets)) == []
    assert said(answered(octets, asked(least_hours=4))) == ["05-04..05-04"]


@pytest.mark.parametrize(
    "start, end, hours, away",
    [
        ("20260504T060000", "20260504T100000", 4, True),  # over the morning round, just long enough
        ("20260504T060000", "20260504T095900", 4, False),
        ("20260504T070000", "20260504T110000", 4, True),  # begins with the round
        ("20260504T070100", "20260504T113000", 4, False),  # between two rounds
        ("20260504T080000", "20260504T120000", 4, False),  # home when the round begins
        ("20260504T130000", "20260504T173000", 4, False),
        ("20260504T223000", "20260505T070000", 4, False),  # the night between, home at seven
    ],
)
def test_hours_count_when_a_round_begins_within_them(start: str, end: str, hours: int, away: bool):
    found = answered(calendar(timed(start, end)), asked(least_hours=hours))
    assert bool(found.spans) is away


def test_a_night_shift_takes_the_day_whose_round_it_covers():
    found = answered(calendar(timed("20260504T220000", "20260505T080000")), asked(least_hours=4))
    assert said(found) == ["05-05..05-05"]


def test_only_rounds_that_the_member_does_matter():
    octets = calendar(timed("20260504T060000", "20260504T140000"))
    assert said(answered(octets, asked(least_hours=4, rounds=(time(18),)))) == []
    assert said(answered(octets, asked(least_hours=4, rounds=()))) == []


def test_words_choose_and_leave_out_whatever_their_case():
    octets = calendar(
        whole("1", MAY_4, title="HOLIDAYS at school"),
        whole("2", date(2026, 5, 11), title="Bin day"),
        whole("3", date(2026, 5, 18), title="School trip; bring a birthday cake"),
    )
    assert said(answered(octets)) == ["05-04..05-04", "05-11..05-11", "05-18..05-18"]
    assert said(answered(octets, asked(words=("holidays", "trip")))) == ["05-04..05-04", "05-18..05-18"]
    assert said(answered(octets, asked(without=("Birthday", "bin")))) == ["05-04..05-04"]
    assert said(answered(octets, asked(words=("school",), without=("cake",)))) == ["05-04..05-04"]


def test_what_was_called_off_makes_nobody_away():
    octets = calendar(
        whole("1", MAY_4, more="STATUS:CANCELLED"), whole("2", date(2026, 5, 11), more="TRANSP:TRANSPARENT")
    )
    assert said(answered(octets)) == ["05-11..05-11"]


def test_a_rule_repeats_with_its_exceptions():
    rule = (
        "RRULE:FREQ=WEEKLY;BYDAY=MO,TU;UNTIL=20260519\nEXDATE;VALUE=DATE:20260512\nRDATE;VALUE=DATE:20260530"
    )
    found = said(answered(calendar(whole("1", MAY_4, more=rule))))
    assert found == ["05-04..05-05", "05-11..05-11", "05-18..05-19", "05-30..05-30"]


def test_one_occurrence_moved_is_where_it_was_moved_to():
    rule = whole("1", MAY_4, more="RRULE:FREQ=WEEKLY;COUNT=3")
    moved = whole("1", date(2026, 5, 13), title="Trip, moved", more="RECURRENCE-ID;VALUE=DATE:20260511")
    found = answered(calendar(rule, moved))
    assert said(found) == ["05-04..05-04", "05-13..05-13", "05-18..05-18"]
    assert Entry("Trip, moved", date(2026, 5, 13), date(2026, 5, 13), True) in found.entries


def test_one_occurrence_called_off_is_gone():
    rule = whole("1", MAY_4, more="RRULE:FREQ=WEEKLY;COUNT=3")
    off = whole("1", date(2026, 5, 11), more="RECURRENCE-ID;VALUE=DATE:20260511\nSTATUS:CANCELLED")
    assert said(answered(calendar(rule, off))) == ["05-04..05-04", "05-18..05-18"]


def test_an_occurrence_that_was_moved_from_before_today_to_later_is_seen():
    rule = whole("1", date(2026, 4, 6), more="RRULE:FREQ=WEEKLY;COUNT=2")
    moved = whole("1", MAY_4, more="RECURRENCE-ID;VALUE=DATE:20260413")
    assert said(answered(calendar(rule, moved))) == ["05-04..05-04"]


def test_all_from_one_occurrence_on_may_be_moved():
    rule = whole("1", MAY_4, more="RRULE:FREQ=WEEKLY;COUNT=4")
    onward = whole(
        "1",
        date(2026, 5, 12),
        title="On Tuesdays",
        more="RECURRENCE-ID;RANGE=THISANDFUTURE;VALUE=DATE:20260511",
    )
    assert said(answered(calendar(rule, onward))) == [
        "05-04..05-04",
        "05-12..05-12",
        "05-19..05-19",
        "05-26..05-26",
    ]


def test_of_two_versions_of_an_entry_the_later_counts():
    old, new = whole("1", MAY_4, more="SEQUENCE:1"), whole("1", date(2026, 5, 11), more="SEQUENCE:2")
    assert said(answered(calendar(new, old))) == said(answered(calendar(old, new))) == ["05-11..05-11"]


def test_a_weekly_shift_stays_at_its_hour_when_the_clocks_change():
    """From the Saturday before the change of October 25th to the one after it, both at six in Berlin."""
    entry = timed("20261024T060000", "20261024T100000", "RRULE:FREQ=WEEKLY;COUNT=2")
    found = answered(calendar(entry), asked(first=date(2026, 10, 20), least_hours=4))
    assert said(found) == ["10-24..10-24", "10-31..10-31"]
    utc = "UID:2\nSUMMARY:Shift\nDTSTART:20261024T050000Z\nDTEND:20261024T090000Z\nRRULE:FREQ=WEEKLY;COUNT=2"
    # From seven in summer, from six in winter: it covers the round both times.
    assert said(answered(calendar(utc), asked(first=date(2026, 10, 20), least_hours=4))) == [
        "10-24..10-24",
        "10-31..10-31",
    ]


@pytest.mark.parametrize(
    "day, start, end, away", [(date(2026, 3, 29), 1, 5, False), (date(2026, 10, 25), 1, 4, True)]
)
def test_hours_are_those_that_pass_on_the_days_the_clocks_change(day: date, start: int, end: int, away: bool):
    """One to five on the clock are three hours in spring; one to four are four in autumn."""
    entry = timed(f"{day:%Y%m%d}T{start:02}0000", f"{day:%Y%m%d}T{end:02}0000")
    found = answered(calendar(entry), asked(first=day, least_hours=4, rounds=(time(3, 30),)))
    assert bool(found.spans) is away


def test_days_are_the_farms_own_wherever_the_entry_was_written():
    entry = timed("20260504T200000", "20260505T020000", zone="America/New_York")
    here = answered(calendar(entry), asked(least_hours=4))  # 2 to 8 in the morning of the 5th in Berlin
    assert said(here) == ["05-05..05-05"]
    there = answered(
        calendar(entry), asked(least_hours=4, zone=ZoneInfo("America/New_York"), rounds=(time(21),))
    )
    assert said(there) == ["05-04..05-04"]


def test_times_without_a_zone_are_the_farms():
    entry = "UID:1\nSUMMARY:Shift\nDTSTART:20260504T060000\nDTEND:20260504T100000"
    assert said(answered(calendar(entry), asked(least_hours=4))) == ["05-04..05-04"]


def test_a_zone_the_calendar_brings_along_is_followed():
    zone = (
        "BEGIN:VTIMEZONE\nTZID:Barn\nBEGIN:STANDARD\nDTSTART:19700101T000000\nTZOFFSETFROM:+0500\nTZOFFSETTO:+0500\n"
        "END:STANDARD\nEND:VTIMEZONE\n"
    )
    octets = calendar(
        timed("20260504T090000", "20260504T130000", zone="Barn"), head=zone
    )  # 6 to 10 in Berlin
    assert said(answered(octets, asked(least_hours=4))) == ["05-04..05-04"]


def test_an_odd_entry_is_left_out_and_counted_and_the_rest_is_read():
    odd = [
        "UID:a\nSUMMARY:No start",
        "UID:b\nDTSTART;VALUE=DATE:20260504\nRRULE:FREQ=HOURLY",
        "UID:c\nDTSTART;VALUE=DATE:20260504\nRRULE:FREQ=DAILY;INTERVAL=0",
        "UID:d\nDTSTART:20260504T080000Z\nDTEND:20260503T080000Z",
        "UID:e\nDTSTART:20260504T080000Z\nDTEND;VALUE=DATE:20260506",
        "UID:f\nDTSTART;VALUE=DATE:20260504\nRRULE:FREQ=YEARLY\nEXRULE:FREQ=YEARLY",
        "UID:g\nDTSTART;VALUE=DATE:20261399",
    ]
    found = answered(calendar(*odd, whole("z", date(2026, 5, 11))))
    assert said(found) == ["05-11..05-11"]
    assert found.skipped == len(odd)


def test_titles_are_cleaned_before_anybody_sees_them():
    found = answered(calendar(whole("1", MAY_4, title="Trip\\n\u202eevil\x07 " + "x" * 500)))
    assert found.entries[0].title.startswith("Trip evil x")
    assert len(found.entries[0].title) == 200


def test_what_counts_is_listed_first_and_the_list_ends():
    many = [whole(str(n), date(2026, 5, 4), title=f"Other {n:03}") for n in range(120)]
    found = answered(calendar(*many, whole("z", date(2026, 6, 1), title="Mine")), asked(words=("mine",)))
    assert found.entries[0] == Entry("Mine", date(2026, 6, 1), date(2026, 6, 1), True)
    assert (len(found.entries), found.left) == (100, 21)


def test_question_and_answer_go_to_another_process_and_back():
    question = asked(least_hours=5, words=("a", "b"), without=("c",))
    assert records.from_json(records.to_json(question)) == question
    reading = answered(calendar(whole("1", TODAY)))
    assert records.reading_of(records.reading_json(reading)) == reading


def test_until_midnight_is_not_the_next_day():
    found = answered(calendar(timed("20260504T170000", "20260505T000000")), asked(least_hours=4))
    assert (found.entries[0].first, found.entries[0].last) == (MAY_4, MAY_4)


@pytest.mark.parametrize(
    "line", ["EXDATE;VALUE=DATE:20260511", "EXDATE:20260511T040000Z", "RRULE:FREQ=WEEKLY;UNTIL=20260510"]
)
def test_days_given_for_entries_with_times_are_meant_whole(line: str):
    rule = "" if line.startswith("RRULE") else "RRULE:FREQ=WEEKLY;COUNT=2\n"
    octets = calendar(timed("20260504T060000", "20260504T100000", rule + line))
    assert said(answered(octets, asked(least_hours=4))) == ["05-04..05-04"]


def test_the_last_day_of_a_rule_counts_when_only_the_day_is_named():
    octets = calendar(timed("20260504T060000", "20260504T100000", "RRULE:FREQ=WEEKLY;UNTIL=20260511"))
    assert said(answered(octets, asked(least_hours=4))) == ["05-04..05-04", "05-11..05-11"]
