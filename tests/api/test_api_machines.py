"""Machines over the API: read, added, changed by who saw the newest version, removed when no eggs were in them."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Machine
from farm.services import machines
from tests.api.api_world import Program, wrong
from tests.conftest import World

NEW = {"name": "Cabinet", "does": "both", "medium_eggs": 48}


@pytest.fixture
def cabinet(world: World) -> Machine:
    """An incubator for 48 hen's eggs."""
    return machines.add(world.by, **NEW)


def test_a_machine_is_added_and_read(world: World, program: Program):
    reply = program.post("/machines/", NEW | {"in_service_to": "2026-09-01"})

    machine = Machine.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/machines/{machine.pk}/")
    assert reply.json() == {
        "id": machine.pk,
        "version": 1,
        "name": "Cabinet",
        "whereabouts": "",
        "does": "both",
        "air": "forced",
        "small_eggs": 0,
        "medium_eggs": 48,
        "large_eggs": 0,
        "very_large_eggs": 0,
        "species": [],
        "turns_itself": True,
        "cleaning_days": 1,
        "in_service_from": None,
        "in_service_to": "2026-09-01",
        "notes": "",
    }
    assert program.get(f"/machines/{machine.pk}/").json() == reply.json()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", " "),
        ("does", "toaster"),
        ("medium_eggs", 0),
        ("medium_eggs", 100_001),
        ("cleaning_days", 31),
        ("species", ["dodo"]),
        ("in_service_from", "2150-01-01"),
    ],
)
def test_what_no_machine_can_be_is_refused_at_its_field(program: Program, field: str, value: object):
    reply = program.post("/machines/", NEW | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert not Machine.objects.exists()


def test_a_change_needs_the_version_that_was_read(cabinet: Machine, program: Program):
    path = f"/machines/{cabinet.pk}/"
    seen = program.get(path)

    assert program.patch(path, {"medium_eggs": 60}).status_code == 428
    assert program.patch(path, {"medium_eggs": 60}, seen=seen).json()["medium_eggs"] == 60
    assert program.patch(path, {"medium_eggs": 70}, seen=seen).status_code == 412
    assert program.delete(path, seen=seen).status_code == 412
    assert Machine.objects.get().medium_eggs == 60


def test_a_machine_without_eggs_is_removed(cabinet: Machine, program: Program):
    path = f"/machines/{cabinet.pk}/"

    assert program.delete(path).status_code == 428
    assert program.delete(path, seen=program.get(path)).status_code == 204
    assert not Machine.objects.exists()


def test_a_helper_and_a_token_to_read_change_no_machine(world: World, cabinet: Machine):
    path = f"/machines/{cabinet.pk}/"

    for refused in (Program(world.add_member("Eve", "helper")), Program(world.by, "read")):
        assert refused.get(path).status_code == 200
        assert refused.post("/machines/", NEW | {"name": "Other"}).status_code == 403
        assert refused.patch(path, {"medium_eggs": 60}, If_Match="*").status_code == 403
        assert refused.delete(path, If_Match="*").status_code == 403
    assert Machine.objects.get().medium_eggs == 48


def test_another_farms_machine_is_not_found(elsewhere: World, program: Program):
    theirs = machines.add(elsewhere.by, **NEW | {"name": "Theirs"})
    path = f"/machines/{theirs.pk}/"

    for reply in (
        program.get(path),
        program.patch(path, {"medium_eggs": 60}, If_Match="*"),
        program.delete(path, If_Match="*"),
    ):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    assert program.get("/machines/").json()["items"] == []
    assert Machine.objects.get().medium_eggs == 48


def test_machines_are_listed_filtered_and_page_by_page(world: World, cabinet: Machine, program: Program):
    machines.add(world.by, **NEW | {"name": "Attic", "does": "hatcher"})

    def names(query: str) -> list[str]:
        return [row["name"] for row in program.get(f"/machines/?{query}").json()["items"]]

    first = program.get("/machines/?limit=1").json()
    assert [row["name"] for row in first["items"]] == ["Attic"]
    assert names(f"limit=1&cursor={first['next']}") == ["Cabinet"]
    assert names("does=both") == ["Cabinet"]
    assert names("order=-name") == ["Cabinet", "Attic"]


def test_more_machines_take_no_more_queries(world: World, cabinet: Machine, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/machines/").status_code == 200
        return len(seen)

    queries()
    few = queries()
    for number in range(5):
        machines.add(world.by, **NEW | {"name": f"More {number}"})

    assert queries() == few
