"""Differential expansion: five readers by other hands expand our calendars to exactly what the model meant.

The readers, and which of them need a program that may be missing, are in `tests.calendars.readers`. Calendars come from
generated entries, from generated agendas, and from whole farms in the database; zones are one of each kind: changes on
Sundays at 1 UTC, changes at 2 local time, the southern hemisphere, half an hour off, and none at all. Examples of the
standards stand at the end, each with its section.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calendars.entries import entries as written
from calendars.ics import About, Rendered, assemble, render, vtimezone
from calendars.models import EntryVersion
from farm.phrase import Phrase
from tests.calendars import readers
from tests.calendars.cases import HOSTILE, STAMP, all_day, calendar, item, reader, step, timed
from tests.calendars.conftest import subscribe
from tests.calendars.linter import problems
from tests.calendars.readers import meant, needs_calcurse, needs_icaljs, spans, titled
from tests.conftest import TODAY, World, actor, make_world

BERLIN, NEW_YORK, SYDNEY = "Europe/Berlin", "America/New_York", "Australia/Sydney"
ZONES = [BERLIN, NEW_YORK, SYDNEY, "Australia/Lord_Howe", "Asia/Kathmandu"]
READERS = [
    pytest.param(readers.by_ical, id="ical"),
    pytest.param(readers.by_icalendar, id="icalendar"),
    pytest.param(readers.by_recurring, id="recurring-ical-events"),
    pytest.param(readers.by_icaljs, id="ical.js", marks=needs_icaljs),
]

days = st.dates(date(2025, 1, 1), date(2029, 3, 31))  # a leap day among them
#: Minutes around each change of the clocks of 2026 and 2027, where a slip of an hour would show.
CHANGES = {
    BERLIN: ["2026-03-29T01:00", "2026-10-25T01:00", "2027-03-28T01:00", "2027-10-31T01:00"],
    NEW_YORK: ["2026-03-08T07:00", "2026-11-01T06:00", "2027-03-14T07:00", "2027-11-07T06:00"],
    SYDNEY: ["2026-04-04T16:00", "2026-10-03T16:00", "2027-04-03T16:00", "2027-10-02T16:00"],
    "Australia/Lord_Howe": ["2026-04-04T15:00", "2026-10-03T15:30"],
    "Asia/Kathmandu": [],
}


def instants(zone: str):
    """Any minute, and as often one within three hours of a change of the clocks."""
    anywhere = st.builds(lambda day, minute: at_utc(day) + minute, days, minutes(0, 1439))
    changes = [datetime.fromisoformat(change).replace(tzinfo=UTC) for change in CHANGES[zone]]
    if not changes:
        return anywhere
    near = st.builds(lambda change, minute: change + minute, st.sampled_from(changes), minutes(-180, 180))
    return st.one_of(anywhere, near)


def minutes(least: int, most: int):
    return st.integers(least, most).map(lambda many: timedelta(minutes=many))


def at_utc(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=UTC)


@st.composite
def generated(draw, zone):
    """Up to ten entries of both kinds with whatever people type."""
    found = []
    for number in range(draw(st.integers(1, 10))):
        text = draw(st.one_of(st.sampled_from(HOSTILE), st.text(max_size=80)))
        shared = {
            "uid": f"e{number}@farm",
            "summary": f"{number} {text}",
            "description": text,
            "location": text,
        }
        shared |= {"sequence": draw(st.integers(0, 9)), "color": draw(st.sampled_from(["", "gold"]))}
        # Ours are fixed words; of one with a comma in it `ical` makes two, of one ending in a backslash ical.js.
        shared |= {"categories": draw(st.sampled_from([(), ("Step",), ("Round", "Outdoors")]))}
        if draw(st.booleans()):
            day = draw(days)
            found.append(all_day(start=day, end=day + timedelta(days=draw(st.integers(1, 40))), **shared))
        else:
            start = draw(instants(zone))
            found.append(timed(start=start, end=start + draw(minutes(1, 2000)), zone=zone, **shared))
    return found


@st.composite
def agendas(draw):
    """Up to eight items as a farm's agenda has them: steps of a batch, chores of rounds."""
    found = []
    for number in range(draw(st.integers(1, 8))):
        make = draw(st.sampled_from([item, step]))
        fields = {"source": f"batch:{number}/x", "due": draw(days), "minutes": draw(st.integers(0, 300))}
        fields |= {"title": Phrase(draw(st.sampled_from(["Grit", "100 %%", "a, b; c\\n"])))}
        if make is item:
            fields["round"] = draw(st.sampled_from(["morning", "midday", "evening"]))
        found.append(make(**fields))
    return found


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("read", READERS)
@settings(max_examples=15)
@given(data=st.data())
def test_every_reader_understands_generated_entries_as_they_were_meant(read, zone, data):
    found = data.draw(generated(zone))
    octets = calendar(*found, zone=zone).octets
    assert problems(octets) == []
    understood = read(octets)
    assert set(understood) == meant(found)
    assert len(understood) == len(found)


@needs_calcurse
@pytest.mark.parametrize("zone", [BERLIN, NEW_YORK, SYDNEY])
@settings(max_examples=8)
@given(data=st.data())
def test_calcurse_takes_them_all_and_gives_back_the_same_days_and_instants(zone, data):
    found = data.draw(generated(zone))
    named = [entry.__class__(**{**fields(entry), "summary": f"No {n}"}) for n, entry in enumerate(found)]
    assert titled(readers.by_calcurse(calendar(*named, zone=zone).octets)) == titled(meant(named))


def fields(entry):
    return {name: getattr(entry, name) for name in entry.__slots__}


ROUND_TIMES = {"morning": time(2, 30), "midday": time(12), "evening": time(23, 50)}


@pytest.mark.parametrize("zone", [BERLIN, NEW_YORK, SYDNEY])
@settings(max_examples=15)
@given(items=agendas())
def test_an_agenda_becomes_the_days_and_local_times_that_the_farm_has_set(zone, items):
    """What is meant is worked out here from the items alone: a step is its day, a round begins at its time."""
    found = written(items, {}, reader(zone=zone, round_times=ROUND_TIMES), STAMP)
    steps = sorted(one.due for one in items if one.kind == "step")
    rounds = {(one.due, one.round) for one in items if one.kind == "chore"}
    octets = calendar(*found, zone=zone).octets
    for read in [readers.by_ical, readers.by_recurring] + [readers.by_icaljs] * readers.HAS_ICALJS:
        understood = read(octets)
        dated = [fact for fact in understood if not isinstance(fact.start, datetime)]
        assert sorted(fact.start for fact in dated) == steps
        assert all(fact.end - fact.start == timedelta(days=1) for fact in dated)
        begun = {
            fact.start.astimezone(ZoneInfo(zone)) for fact in understood if isinstance(fact.start, datetime)
        }
        assert len(begun) == len(rounds)
        for day, name in rounds:
            local = datetime.combine(day, ROUND_TIMES[name], tzinfo=ZoneInfo(zone))
            # A time that is skipped is read with the offset before the change (RFC 5545 §3.3.5): an hour later.
            assert local.astimezone(UTC).astimezone(ZoneInfo(zone)) in begun


def farm_in(zone: str) -> World:
    world = make_world()
    world.farm.time_zone = zone
    world.farm.save(update_fields=["time_zone"])
    world.by = actor(world.farm, world.keeper)
    world.add_housing("Brooder 1")
    world.add_housing("Brooder 2")
    world.add_batch("Spring", housing="Brooder 1")
    world.add_batch("Chicks", age=3, housing="Brooder 2")
    return world


@pytest.mark.parametrize("zone", [BERLIN, NEW_YORK, SYDNEY])
def test_a_whole_farm_reads_the_same_to_all_as_its_records_say(db, zone):
    octets = subscribe(farm_in(zone).by).get().content
    assert problems(octets) == []
    rows = EntryVersion.objects.all()
    recorded = {(row.uid, _back(row.outline, "start"), _back(row.outline, "end")) for row in rows}
    assert len(recorded) > 300
    assert min(row.day for row in rows) < TODAY < max(row.day for row in rows)
    kinds = [readers.by_ical, readers.by_icalendar, readers.by_recurring]
    for read in kinds + [readers.by_icaljs] * readers.HAS_ICALJS:
        assert spans(read(octets)) == recorded, read.__name__
    if readers.HAS_CALCURSE:
        assert sorted(f.start.isoformat() for f in readers.by_calcurse(octets)) == sorted(
            start.isoformat() for _uid, start, _end in recorded
        )


def _back(outline, name):
    if outline.get("zone"):
        return datetime.fromisoformat(outline[name]).astimezone(UTC)
    return date.fromisoformat(outline[name])


@needs_icaljs
def test_icaljs_was_asked():
    """Named on its own, so that a run without it says so once, plainly."""
    assert spans(readers.by_icaljs(calendar(all_day()).octets)) == spans(meant([all_day()]))


# Days that calendars are known to get wrong, one by one: (zone, local start, minutes).
NIGHTS = {
    "spring forward in Berlin, over the gap": (BERLIN, datetime(2026, 3, 28, 22, 30, tzinfo=UTC), 240),
    "spring forward in Berlin, to its edge": (BERLIN, datetime(2026, 3, 29, 0, 30, tzinfo=UTC), 30),
    "fall back in Berlin, first pass": (BERLIN, datetime(2026, 10, 25, 0, 30, tzinfo=UTC), 20),
    "fall back in Berlin, second pass": (BERLIN, datetime(2026, 10, 25, 1, 30, tzinfo=UTC), 20),
    "fall back in Berlin, into it": (BERLIN, datetime(2026, 10, 24, 22, tzinfo=UTC), 150),
    "fall back in Berlin, all of it": (BERLIN, datetime(2026, 10, 24, 21, tzinfo=UTC), 600),
    "spring forward in New York": (NEW_YORK, datetime(2026, 3, 8, 6, 45, tzinfo=UTC), 30),
    "fall back in New York": (NEW_YORK, datetime(2026, 11, 1, 5, 30, tzinfo=UTC), 60),
    "summer time ends in Sydney in April": (SYDNEY, datetime(2026, 4, 4, 15, 30, tzinfo=UTC), 60),
    "summer time begins in Sydney in October": (SYDNEY, datetime(2026, 10, 3, 15, 45, tzinfo=UTC), 30),
    "a southern January is summer": (SYDNEY, datetime(2027, 1, 10, 20, tzinfo=UTC), 25),
    "the evening before a leap day": (BERLIN, datetime(2028, 2, 28, 22, 30, tzinfo=UTC), 60),
    "a summer some years ahead": (BERLIN, datetime(2030, 7, 1, 5, tzinfo=UTC), 25),
}


@pytest.mark.parametrize("read", READERS)
@pytest.mark.parametrize("zone, start, length", NIGHTS.values(), ids=NIGHTS.keys())
def test_nights_on_which_the_clocks_change(read, zone, start, length):
    entry = timed(zone=zone, start=start, end=start + timedelta(minutes=length))
    assert spans(read(calendar(entry, zone=zone).octets)) == spans(meant([entry]))


@pytest.mark.parametrize("read", READERS)
@pytest.mark.parametrize(
    "start, end",
    [
        (date(2028, 2, 29), date(2028, 3, 1)),
        (date(2028, 2, 28), date(2028, 3, 1)),
        (date(2027, 2, 28), date(2027, 3, 1)),
        (date(2026, 12, 31), date(2027, 1, 1)),
        (date(2026, 3, 28), date(2026, 3, 31)),  # over a change of the clocks
    ],
)
def test_days_at_the_ends_of_months_and_years(read, start, end):
    entry = all_day(start=start, end=end)
    assert spans(read(calendar(entry).octets)) == {(entry.uid, start, end)}


# The standards' own examples.


def test_rfc_5545_section_3_1_folding():
    """§3.1: lines SHOULD be at most 75 octets; its example folds a DESCRIPTION, and unfolding gives it back."""
    said = "This is a long description that exists on a long line."
    octets = calendar(all_day(description=said, summary="x" * 150)).octets
    assert max(map(len, octets.split(b"\r\n"))) == 75
    assert f"DESCRIPTION:{said}\r\n".encode() in octets.replace(b"\r\n ", b"")


def test_rfc_5545_section_3_3_11_escaping():
    """§3.3.11: "Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared." is three lines."""
    entry = all_day(description="Project XYZ Final Review\nConference Room - 3B\nCome Prepared.")
    line = rb"DESCRIPTION:Project XYZ Final Review\nConference Room - 3B\nCome Prepared." + b"\r\n"
    assert line in render(entry).replace(b"\r\n ", b"")


def test_rfc_5545_section_3_6_1_an_all_day_event_ends_the_day_after():
    """§3.6.1: "DTSTART;VALUE=DATE:20070628, DTEND;VALUE=DATE:20070709" is an event over 11 days, 28 June to 8 July."""
    octets = render(all_day(uid="20070423T123432Z-541111@example.com", summary="Festival International de Jazz de "
                            "Montreal", start=date(2007, 6, 28), end=date(2007, 7, 9)))  # fmt: skip
    assert b"\r\nDTSTART;VALUE=DATE:20070628\r\nDTEND;VALUE=DATE:20070709\r\n" in octets
    read = icalendar.Event.from_ical(octets)
    assert read.duration == timedelta(days=11)


def test_rfc_5545_section_3_6_5_new_york_since_2007():
    """§3.6.5: New York's rules "FREQ=YEARLY;BYMONTH=3;BYDAY=2SU" and "FREQ=YEARLY;BYMONTH=11;BYDAY=1SU"."""
    lines = vtimezone(NEW_YORK, 2025).decode().split("\r\n")
    for part, first, before, after, name, rule in (
        ("DAYLIGHT", "20070311T020000", "-0500", "-0400", "EDT", "FREQ=YEARLY;BYMONTH=3;BYDAY=2SU"),
        ("STANDARD", "20071104T020000", "-0400", "-0500", "EST", "FREQ=YEARLY;BYMONTH=11;BYDAY=1SU"),
    ):
        at = lines.index(f"BEGIN:{part}")
        said = dict(line.split(":", 1) for line in lines[at + 1 : lines.index(f"END:{part}")])
        assert said == {
            "DTSTART": first, "TZOFFSETFROM": before, "TZOFFSETTO": after, "TZNAME": name, "RRULE": rule,
        }  # fmt: skip


def test_rfc_5545_section_3_3_5_a_repeated_local_time_is_left_to_nobody():
    """§3.3.5: "1:30 A.M. EDT" of 4 November 2007 is the first of two; we write both in UTC, as readers differ."""
    for hour in (5, 6):
        start = datetime(2007, 11, 4, hour, 30, tzinfo=UTC)
        octets = render(timed(zone=NEW_YORK, start=start, end=start + timedelta(minutes=20)))
        assert f"DTSTART:20071104T0{hour}3000Z\r\n".encode() in octets


def test_rfc_7986_sections_5_1_5_7_and_5_9_name_refresh_interval_and_color():
    """§5.1 NAME, §5.7 "REFRESH-INTERVAL;VALUE=DURATION:P1W" (VALUE is required), §5.9 "COLOR:turquoise": a CSS name."""
    event = all_day()
    heading = assemble(
        About("Company Vacation Days", "", "gold"), [], [Rendered(event.day, event.uid, render(event))]
    ).octets
    assert b"\r\nNAME:Company Vacation Days\r\n" in heading
    assert re.search(rb"\r\nREFRESH-INTERVAL;VALUE=DURATION:P[0-9A-Z]+\r\n", heading)
    assert b"\r\nCOLOR:gold\r\n" in heading
    with pytest.raises(ValueError, match="CSS names"):
        About("Company Vacation Days", "", "#ffd700")
