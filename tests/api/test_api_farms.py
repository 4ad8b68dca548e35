"""The farm over the API: its settings, who asks, and which farms they may open."""

from __future__ import annotations

import pytest
from django.test import Client

from farm.models import Farm, Member
from farm.models.member import Role
from farm.services import observations
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import World


def test_the_farm_says_its_settings_and_its_day(world: World, program: Program):
    shown = program.get("/farm/").json()

    version = Farm.objects.get(pk=world.farm.pk).version
    assert shown == {
        "id": world.farm.pk,
        "version": version,
        "name": "Hollow Farm",
        "time_zone": "Europe/Berlin",
        "units": "metric",
        "first_weekday": 0,
        "latitude": None,
        "longitude": None,
        "morning_at": "07:00:00",
        "midday_at": "12:30:00",
        "evening_at": "18:30:00",
        "move_weekdays": [5],
        "today": "2026-05-01",
        "is_demo": False,
        "closing_on": None,
    }


def test_a_keeper_changes_settings(world: World, program: Program):
    new = {"morning_at": "06:15", "move_weekdays": [6, 2], "latitude": 52.5, "longitude": 13.4}

    reply = program.patch("/farm/", new, seen=program.get("/farm/"))

    assert reply.status_code == 200
    farm = Farm.objects.get(pk=world.farm.pk)
    assert (str(farm.morning_at), farm.move_weekdays, farm.latitude) == ("06:15:00", [6, 2], 52.5)
    assert program.get("/farm/").json() == reply.json()


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": " "}, "name"),
        ({"time_zone": "Mars/Olympus"}, "time_zone"),
        ({"latitude": 91, "longitude": 0}, "latitude"),
        ({"latitude": 50}, "longitude"),
        ({"midday_at": "06:00"}, "midday_at"),
        ({"midday_at": "12:00:00Z"}, "midday_at"),
        ({"move_weekdays": [1, 1]}, "move_weekdays"),
        ({"first_weekday": 7}, "first_weekday"),
        ({"version": 1}, "version"),
    ],
)
def test_settings_no_farm_has_are_refused_at_their_field(
    program: Program, change: dict[str, object], field: str
):
    before = program.get("/farm/").json()

    reply = program.patch("/farm/", change, If_Match="*")

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert program.get("/farm/").json() == before


def test_another_time_zone_has_to_be_meant(world: World, program: Program):
    batch = world.add_batch("Wrens")
    observations.add(world.by, kind="note", batch_id=batch.pk, note="Lively")

    refused = program.patch("/farm/", {"time_zone": "Europe/Lisbon"}, If_Match="*")
    done = program.patch("/farm/", {"time_zone": "Europe/Lisbon", "move_days": True}, If_Match="*")

    assert list(wrong(refused)) == ["#/time_zone"]
    assert done.json()["time_zone"] == "Europe/Lisbon"


def test_only_changed_settings_make_a_version_old(world: World, program: Program):
    seen = program.get("/farm/")
    world.add_batch("Wrens")

    assert program.patch("/farm/", {"name": "Hill Farm"}).status_code == 428
    assert program.patch("/farm/", {"name": "Hill Farm"}, seen=seen).status_code == 200
    late = program.patch("/farm/", {"name": "Dale Farm"}, seen=seen)

    assert (late.status_code, late.json()["changes"]) == (412, ["Ada: Farm settings changed"])
    assert Farm.objects.get(pk=world.farm.pk).name == "Hill Farm"


def test_a_helper_and_a_token_to_read_change_no_settings(world: World):
    for refused in (Program(world.add_member("Eve", "helper")), Program(world.by, "read", "record")):
        assert refused.patch("/farm/", {"name": "Hill Farm"}, If_Match="*").status_code == 403
    assert Farm.objects.get(pk=world.farm.pk).name == "Hollow Farm"


def test_a_program_learns_who_it_is(world: World):
    child = child_program(world)

    assert child.get("/farm/me/").json() == {
        "member_id": Member.objects.get(name="Tim").pk,
        "name": "Tim",
        "role": "child",
        "scopes": ["read", "record", "write", "people"],
        "token": "Scales in the shed",
        "expires_at": "2026-07-30T10:00:00Z",
    }


def test_a_token_opens_its_own_farm_alone_a_session_all_of_the_login(
    world: World, elsewhere: World, program: Program
):
    Member.objects.create(
        farm=elsewhere.farm, login=world.by.login, name="Ada from the Hollow", role=Role.HELPER
    )
    pages = Client()
    pages.force_login(world.by.login)

    def names(reply: object) -> list[tuple[str, str, bool]]:
        return [(row["name"], row["role"], row["current"]) for row in reply.json()["items"]]

    assert names(program.get("/farms/")) == [("Hollow Farm", "keeper", True)]
    ours = pages.get("/api/v1/farms/")
    assert sorted(name for name, _role, _current in names(ours)) == ["Far Farm", "Hollow Farm"]
    assert {(name, role) for name, role, _current in names(ours)} == {
        ("Far Farm", "helper"),
        ("Hollow Farm", "keeper"),
    }
    assert len([current for _name, _role, current in names(ours) if current]) == 1
