"""Calendar links over the API: the address once, one's own alone, and it opens what a page's link opens."""

from __future__ import annotations

from typing import get_args

import icalendar
import pytest
import time_machine
from django.test import Client

from api.models import SentRequest
from calendars.api import Shows
from calendars.choices import Scope
from calendars.models import CalendarLink
from tests.api.api_world import Program, wrong
from tests.conftest import NOON, World


@pytest.fixture(autouse=True)
def _at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def program(world: World) -> Program:
    return Program(world.by)


def test_a_link_made_over_the_api_opens_the_calendar(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")

    made = program.post("/calendar-links/", {"label": "Shed", "scope": "farm"})

    assert made.status_code == 201
    address = made.json()["address"]
    calendar = icalendar.Calendar.from_ical(Client().get("/c/" + address.rsplit("/", 1)[1]).content)
    assert any("Wrens" in str(event["summary"]) for event in calendar.walk("VEVENT"))
    assert "address" not in program.get("/calendar-links/").json()["items"][0]


def test_the_address_sent_again_under_its_key_is_kept_sealed(world: World, program: Program):
    first = program.post("/calendar-links/", {"label": "Shed"}, Idempotency_Key="k")
    again = program.post("/calendar-links/", {"label": "Shed"}, Idempotency_Key="k")

    assert again.json() == first.json()
    assert CalendarLink.objects.count() == 1
    secret = first.json()["address"].rsplit("/", 1)[1].removesuffix(".ics")
    assert secret not in str(list(SentRequest.objects.values()))


def test_every_scope_can_be_asked_for():
    assert get_args(Shows) == tuple(Scope.values)


def test_a_new_address_ends_the_old_one(world: World, program: Program):
    old = program.post("/calendar-links/", {"label": "Shed"}).json()

    new = program.post(f"/calendar-links/{old['id']}/new-address/").json()

    assert Client().get("/c/" + new["address"].rsplit("/", 1)[1]).status_code == 200
    # What was switched off says so in the calendar itself.
    off = [one["id"] for one in program.get("/calendar-links/?on=false").json()["items"]]
    assert off == [old["id"]]
    assert program.delete(f"/calendar-links/{new['id']}/").status_code == 204
    assert program.get("/calendar-links/?on=true").json()["items"] == []


def test_others_have_links_of_their_own_alone(world: World):
    helper = world.add_member("Cara", "helper")
    program = Program(helper)

    assert program.post("/calendar-links/", {"label": "x", "member_id": world.keeper.pk}).status_code == 403
    assert not CalendarLink.objects.exists()
    assert program.post("/calendar-links/", {"label": "x"}).status_code == 201
    keepers = Program(world.by).post("/calendar-links/", {"label": "y"}).json()["id"]
    assert program.delete(f"/calendar-links/{keepers}/").status_code == 404
    assert len(program.get("/calendar-links/").json()["items"]) == 1


def test_what_cannot_be_shown_is_refused_at_its_field(world: World, elsewhere: World, program: Program):
    theirs = elsewhere.add_batch("Theirs")

    assert list(wrong(program.post("/calendar-links/", {"label": "x", "scope": "batch"}))) == ["#/batch_id"]
    assert list(wrong(program.post("/calendar-links/", {"label": "x", "zone": "Moon/Sea"}))) == ["#/zone"]
    other = {"label": "x", "scope": "batch", "batch_id": theirs.pk}
    assert program.post("/calendar-links/", other).status_code == 404
    assert not CalendarLink.objects.exists()
