"""Chicks from elsewhere over the API: expected, changed, received; and those who sell them."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Batch, Intake, Supplier
from farm.services import suppliers
from tests.api.api_world import Program, wrong
from tests.conftest import World
from tests.farm.egg_world import chicks_from

NEW = {
    "programme": "chicken_layer_brown",
    "ordered": 50,
    "due_on": "2026-05-11",
    "from_whom": "Mill Hatchery",
}


def queries(program: Program, path: str) -> int:
    with CaptureQueriesContext(connection) as seen:
        assert program.get(path).status_code == 200
    return len(seen)


def test_expected_chicks_have_their_batch_from_the_start(world: World, program: Program):
    reply = program.post("/intakes/", NEW | {"housing_id": world.housing["Brooder 1"].pk})

    intake = Intake.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/intakes/{intake.pk}/")
    shown = reply.json()
    assert shown == program.get(f"/intakes/{intake.pk}/").json()
    assert (shown["state"], shown["ordered"], shown["alive"]) == ("expected", 50, None)
    assert 45 <= shown["planned_chicks"] <= 50
    batch = program.get(f"/batches/{shown['batch_id']}/").json()
    assert (batch["expected"], batch["arrived_on"], batch["alive"]) == (
        True,
        "2026-05-11",
        shown["planned_chicks"],
    )
    assert batch["places"][0]["housing"] == "Brooder 1"


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"from_whom": ""}, "#/from_whom"),
        ({"ordered": 5001}, "#/ordered"),
        ({"due_on": "2020-01-01"}, "#/due_on"),
        ({"hatched_at": "2026-05-20T00:00:00Z"}, "#/hatched_at"),
        ({"sex": "either"}, "#/sex"),
        ({"programme": "dragons"}, "#/programme"),
    ],
)
def test_chicks_that_can_not_come_so_are_refused_at_their_field(
    program: Program, changed: dict[str, Any], field: str
):
    reply = program.post("/intakes/", NEW | changed)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not Intake.objects.exists()
    assert not Batch.objects.exists()


def test_a_later_day_moves_the_batch_along(world: World, program: Program):
    intake = chicks_from(world)
    path = f"/intakes/{intake.pk}/"
    seen = program.get(path)

    assert program.patch(path, {"due_on": "2026-05-13"}).status_code == 428
    shown = program.patch(
        path, {"due_on": "2026-05-13", "hatched_at": "2026-05-12T04:00:00Z"}, seen=seen
    ).json()

    assert program.get(f"/batches/{shown['batch_id']}/").json()["arrived_on"] == "2026-05-13"
    assert shown["feed_by"] > shown["hatched_at"]
    assert program.patch(path, {"ordered": 9}, seen=seen).status_code == 412
    assert program.patch(path, {"hatched_at": None}, If_Match="*").json()["feed_by"] is None
    assert list(wrong(program.patch(path, {"ordered": None}, If_Match="*"))) == ["#/ordered"]


def test_what_came_is_a_batch_without_the_dead(world: World, program: Program):
    intake = chicks_from(world, due=0)
    arrival = {"arrived_at": "2026-05-01T09:00:00Z", "alive": 47, "dead": 3, "weak": 2, "version": 1}

    found = program.post(f"/intakes/{intake.pk}/arrive/", arrival).json()

    assert (found["intake"]["state"], found["intake"]["dead"], found["intake"]["planned_chicks"]) == (
        "arrived",
        3,
        None,
    )
    batch = program.get(f"/batches/{found['batch_id']}/").json()
    assert (batch["expected"], batch["alive"]) == (False, 47)
    assert program.post(f"/intakes/{intake.pk}/arrive/", arrival).status_code == 422


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"weak": 48}, "#/weak"),
        ({"alive": 0, "dead": 0}, "#/alive"),
        ({"arrived_at": "2026-05-02T09:00:00Z"}, "#/arrived_at"),
        ({"arrived_at": "2026-05-01T09:00:00"}, "#/arrived_at"),
        ({"hatched_at": "2026-05-01T09:30:00Z"}, "#/hatched_at"),
    ],
)
def test_what_can_not_have_come_is_refused_at_its_field(
    world: World, program: Program, changed: dict[str, Any], field: str
):
    intake = chicks_from(world, due=0)

    arrival = {"arrived_at": "2026-05-01T09:00:00Z", "alive": 47} | changed
    reply = program.post(f"/intakes/{intake.pk}/arrive/", arrival)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    intake.refresh_from_db()
    assert intake.state == "expected"


def test_an_arrival_by_who_saw_an_older_intake_is_refused(world: World, program: Program):
    intake = chicks_from(world, due=0)
    program.patch(f"/intakes/{intake.pk}/", {"notes": "by noon"}, If_Match="*")

    arrival = {"arrived_at": "2026-05-01T09:00:00Z", "alive": 47, "version": 1}
    assert program.post(f"/intakes/{intake.pk}/arrive/", arrival).status_code == 409
    intake.refresh_from_db()
    assert intake.state == "expected"


def test_a_cancelled_intake_stays_in_the_records_without_its_batch(world: World, program: Program):
    path = f"/intakes/{chicks_from(world).pk}/"

    assert program.delete(path).status_code == 428
    assert program.delete(path, seen=program.get(path)).status_code == 204
    shown = program.get(path).json()
    assert (shown["state"], shown["batch_id"], shown["planned_chicks"]) == ("cancelled", None, None)
    assert not Batch.objects.exists()


def test_intakes_are_filtered_and_paged_in_a_steady_number_of_queries(world: World, program: Program):
    mill = suppliers.add(world.by, name="Mill Hatchery")
    first = chicks_from(world, due=3, supplier_id=mill.pk)
    queries(program, "/intakes/")
    few = queries(program, "/intakes/")
    others = [chicks_from(world, due=10 + number, name=f"More {number}").pk for number in range(4)]

    def ids(query: str = "") -> list[int]:
        return [item["id"] for item in program.get(f"/intakes/?{query}").json()["items"]]

    assert ids() == [first.pk, *others]
    assert ids(f"supplier_id={mill.pk}") == ids("to=2026-05-11") == ids("limit=1") == [first.pk]
    assert ids("from=2026-05-05") == others
    assert ids("state=arrived") == []
    assert queries(program, "/intakes/") == few


def test_helpers_receive_and_do_not_order(world: World, program: Program):
    intake = chicks_from(world, due=0)
    helper, path = Program(world.add_member("Hal", "helper")), f"/intakes/{intake.pk}/"

    assert helper.post("/intakes/", NEW).status_code == 403
    assert helper.patch(path, {"notes": "x"}, If_Match="*").status_code == 403
    assert helper.delete(path, If_Match="*").status_code == 403
    assert helper.post("/suppliers/", {"name": "Mill"}).status_code == 403
    arrival = {"arrived_at": "2026-05-01T09:00:00Z", "alive": 47}
    assert Program(world.by, "write").post(f"{path}arrive/", arrival).status_code == 403
    assert helper.post(f"{path}arrive/", arrival).status_code == 200


def test_another_farms_intakes_and_suppliers_are_not_found(world: World, elsewhere: World, program: Program):
    theirs, sold_by = chicks_from(elsewhere, due=0), suppliers.add(elsewhere.by, name="Far Hatchery")
    mine = chicks_from(world)
    path, arrival = f"/intakes/{theirs.pk}/", {"arrived_at": "2026-05-01T09:00:00Z", "alive": 47}

    for reply in (
        program.get(path),
        program.patch(path, {"notes": "x"}, If_Match="*"),
        program.delete(path, If_Match="*"),
        program.post(f"{path}arrive/", arrival),
        program.post("/intakes/", NEW | {"supplier_id": sold_by.pk}),
        program.patch(f"/intakes/{mine.pk}/", {"supplier_id": sold_by.pk}, If_Match="*"),
        program.get(f"/suppliers/{sold_by.pk}/"),
        program.patch(f"/suppliers/{sold_by.pk}/", {"notes": "x"}, If_Match="*"),
        program.delete(f"/suppliers/{sold_by.pk}/", If_Match="*"),
    ):
        assert reply.status_code == 404
    assert [item["id"] for item in program.get("/intakes/").json()["items"]] == [mine.pk]
    assert program.get("/suppliers/").json()["items"] == []
    theirs.refresh_from_db()
    assert theirs.state == "expected"
    assert Intake.objects.count() == 2


def test_a_supplier_is_added_changed_and_removed(world: World, program: Program):
    made = program.post(
        "/suppliers/", {"name": " Mill ", "types": ["chicken_layer_brown"], "weekdays": [1, 3]}
    )
    path = f"/suppliers/{made.json()['id']}/"
    seen = program.get(path)

    assert (made.status_code, made["Location"]) == (201, f"/api/v1{path}")
    assert seen.json() == made.json()
    assert (made.json()["name"], made.json()["weekdays"], made.json()["lead_days"]) == ("Mill", [1, 3], 14)
    assert program.patch(path, {"lead_days": 21}, seen=seen).json()["lead_days"] == 21
    assert program.patch(path, {"lead_days": 22}, seen=seen).status_code == 412
    assert program.delete(path, seen=seen).status_code == 412
    assert program.delete(path, seen=program.get(path)).status_code == 204
    assert not Supplier.objects.exists()


def test_a_supplier_chicks_came_from_stays(world: World, program: Program):
    mill = suppliers.add(world.by, name="Mill")
    chicks_from(world, supplier_id=mill.pk)

    assert program.delete(f"/suppliers/{mill.pk}/", If_Match="*").status_code == 422
    assert Supplier.objects.get() == mill


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"name": " "}, "#/name"),
        ({"name": "Mill"}, "#/name"),
        ({"types": ["dragons"]}, "#/types"),
        ({"weekdays": [7]}, "#/weekdays/0"),
        ({"weekdays": [1, 1]}, "#/weekdays"),
        ({"hours_on_the_way": 97}, "#/hours_on_the_way"),
    ],
)
def test_what_a_supplier_can_not_be_is_refused_at_its_field(
    world: World, program: Program, changed: dict[str, Any], field: str
):
    suppliers.add(world.by, name="Mill")

    reply = program.post("/suppliers/", {"name": "Brook"} | changed)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert Supplier.objects.count() == 1


def test_more_suppliers_take_no_more_queries(world: World, program: Program):
    suppliers.add(world.by, name="Mill")
    queries(program, "/suppliers/")
    few = queries(program, "/suppliers/")
    for number in range(4):
        suppliers.add(world.by, name=f"More {number}")

    assert [one["name"] for one in program.get("/suppliers/?order=-name&limit=2").json()["items"]] == [
        "More 3",
        "More 2",
    ]
    assert queries(program, "/suppliers/") == few
