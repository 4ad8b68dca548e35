"""What a to-do says, read by other people's parsers."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ical.calendar_stream import IcsCalendarStream
from icalendar import Calendar

from calendars.dav import items
from calendars.dav.todo import Todo, sayable
from farm.models import Farm
from farm.planning.window import Window
from farm.queries import agenda
from tests.calendars.cases import HOSTILE
from tests.calendars.dav_world import an_app, planted
from tests.conftest import NOON, TODAY
from tests.farm.judging import day
from tests.farm.rota_world import key, people

STAMP = datetime(2026, 5, 1, 10, 0, tzinfo=UTC)


@pytest.fixture
def who(world):
    planted(world)
    return people(world)


@pytest.fixture
def app(who):
    return an_app(who["Ada"])


def a_todo(**fields):
    return Todo(**({"uid": "u@farm", "summary": "Look", "due": date(2026, 5, 1)} | fields))


def strict(octets):
    (found,) = IcsCalendarStream.calendar_from_ics(octets.decode()).todos
    return found


def test_a_chore_says_what_where_when_why_and_where_to_open_it(app, world, settings):
    todo = app.todo(key(world, "look"))
    assert str(todo["SUMMARY"]).startswith("Brooder 1")
    assert str(todo["LOCATION"]) == "Brooder 1"
    assert todo["DTSTART"].params["TZID"] == todo["DUE"].params["TZID"] == "Europe/Berlin"
    assert todo["DTSTART"].dt.time() == world.farm.morning_at
    assert todo["DUE"].dt - todo["DTSTART"].dt == items.LATE_AFTER
    assert "Why:" in str(todo["DESCRIPTION"])
    assert str(todo["URL"]) == f"{settings.ADDRESS}/?day=2026-05-01"
    assert (str(todo["STATUS"]), [str(one) for one in todo["CATEGORIES"].cats]) == (
        "NEEDS-ACTION",
        ["Morning"],
    )
    assert "COMPLETED" not in todo
    assert not {"RRULE", "RDATE", "RECURRENCE-ID"} & set(todo)


def test_every_to_do_of_a_list_is_one_occurrence_by_a_name_of_its_own(app, world):
    bodies = [app.ask("GET", path).content for path in sorted(app.query())]
    todos = [strict(body) for body in bodies]
    assert len({todo.uid for todo in todos}) == len(todos) > 50
    window = Window(TODAY - timedelta(days=7), 22)
    assert len(todos) == len({item.occurrence for item in agenda.for_farm(world.farm, window, TODAY)})
    assert all(todo.rrule is None for todo in todos)
    for body in bodies:
        assert max(map(len, body.split(b"\r\n"))) <= 75
        assert b"\n" not in body.replace(b"\r\n", b"")


def test_a_step_is_a_day_and_one_with_a_window_begins_and_ends(app, world):
    steps = [i for i in agenda.for_farm(world.farm, Window(TODAY, 15), TODAY) if i.kind == "step"]
    assert steps
    for item in steps:
        todo = app.todo(item.occurrence)
        last = item.until - timedelta(days=1) if item.until else item.due
        assert todo["DUE"].dt == last
        assert ("DTSTART" in todo) == (last > item.due)
        if "DTSTART" in todo:
            assert todo["DTSTART"].dt == item.due


def test_it_reaches_a_week_back_and_two_ahead(app, world):
    for offset, status in ((-8, 404), (-7, 200), (14, 200), (15, 404)):
        assert app.get(key(world, "look", offset)).status_code == status


def test_one_bad_item_does_not_take_the_list_down(app, world, monkeypatch, caplog):
    real = items._times

    def broken(item, farm):
        if item.job == "feed_water":
            raise ValueError("no")
        return real(item, farm)

    monkeypatch.setattr(items, "_times", broken)
    assert app.get(key(world, "look")).status_code == 200
    assert app.get(key(world, "feed_water")).status_code == 404
    assert "was left out of a task list" in caplog.text


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_break_nothing(world, name):
    place = world.add_housing("Plain")
    world.add_batch("Spring", housing="Plain")
    name = name[:60].encode("utf-8", "replace").decode().replace("\x00", "") or "x"  # what databases hold
    type(place).objects.filter(pk=place.pk).update(name=name)
    Farm.objects.filter(pk=world.farm.pk).update(name=name, version=99)
    app = an_app(world.by)
    body = app.get(key(world, "look", place="Plain")).content
    for word in (b"BEGIN:VCALENDAR", b"END:VCALENDAR", b"BEGIN:VTODO", b"END:VTODO", b"SUMMARY", b"DUE"):
        assert body.replace(b"\r\n ", b"").count(b"\r\n" + word) == (word != b"BEGIN:VCALENDAR")
    assert app.propfind(app.list, "d:displayname")[app.list]
    assert app.tick(key(world, "look", place="Plain")).status_code == 204


def test_a_get_is_not_answered_twice_with_the_same(app, world):
    first = app.get(key(world, "look"))
    path = app.path(key(world, "look"))
    for form in ("{}", "W/{}", '"x", {}', "*"):
        again = app.ask("GET", path, if_none_match=form.format(first["ETag"]))
        assert (again.status_code, again.content, again["ETag"]) == (304, b"", first["ETag"])
    assert app.ask("GET", path, if_none_match='"x"').status_code == 200
    head = app.ask("HEAD", path)
    assert (head.status_code, head.content, head["ETag"]) == (200, b"", first["ETag"])
    assert head["Content-Length"] == str(len(first.content))
    assert first["Last-Modified"] == "Fri, 01 May 2026 10:00:00 GMT"


@given(st.text(max_size=300), st.text(max_size=80), st.booleans())
def test_texts_come_back_as_they_were_cleaned(description, place, done):
    todo = a_todo(description=f"x{description}", location=f"y{place}", done_at=STAMP if done else None)
    octets = todo.octets(STAMP, 3)
    read = strict(octets)
    assert (read.summary, read.description, read.location) == (todo.summary, todo.description, todo.location)
    assert (read.sequence, read.dtstamp, read.last_modified) == (3, STAMP, STAMP)
    assert (read.status.value == "COMPLETED", read.completed) == (done, STAMP if done else None)
    assert octets.count(b"\r\nBEGIN:VTODO") == octets.count(b"\r\nEND:VTODO") == 1


@pytest.mark.parametrize(
    "zone", ["Europe/Berlin", "America/New_York", "Australia/Sydney", "America/Santiago", "UTC"]
)
@given(minutes=st.integers(0, 2 * 366 * 1440))
def test_instants_come_back_whatever_the_clocks_do(zone, minutes):
    start = datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    due = start + timedelta(hours=2)
    todo = a_todo(start=start, due=due, zone=sayable(zone, start, due))
    read = strict(todo.octets(STAMP, 0))
    assert (read.dtstart.astimezone(UTC), read.due.astimezone(UTC)) == (start, due)
    other = Calendar.from_ical(todo.octets(STAMP, 0)).todos[0]
    assert (other["DTSTART"].dt.astimezone(UTC), other["DUE"].dt.astimezone(UTC)) == (start, due)


def test_what_is_visible_makes_the_digest_and_nothing_else():
    one = a_todo()
    assert one.digest("") == a_todo().digest("")
    for field, value in {
        "summary": "Other",
        "due": day(1),
        "description": "x",
        "location": "x",
        "url": "https://x.example/",
        "category": "x",
        "done_at": NOON,
        "skipped": True,
    }.items():
        assert a_todo(**{field: value}).digest("") != one.digest(""), field
    assert one.digest("X-A:1") != one.digest("")
    assert one.octets(STAMP, 0) == one.octets(STAMP, 0)
