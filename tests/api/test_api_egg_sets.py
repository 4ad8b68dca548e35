"""Egg sets over the API: set, changed, candled once under a key, hatched into a batch."""

from __future__ import annotations

from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Batch, EggEntry, EggSet
from tests.api.api_world import Program, wrong
from tests.conftest import World
from tests.farm.egg_world import at, cabinet, put_in

NEW = {"programme": "chicken_layer_brown", "eggs": 40, "set_on": "2026-05-01"}


def test_eggs_are_set_and_their_days_and_chicks_are_told(world: World, program: Program):
    machine = cabinet(world)

    reply = program.post("/egg-sets/", NEW | {"setter_id": machine.pk})

    egg_set = EggSet.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/egg-sets/{egg_set.pk}/")
    shown = reply.json()
    assert shown == program.get(f"/egg-sets/{egg_set.pk}/").json()
    assert (shown["name"], shown["stage"], shown["state"]) == ("E1", "turned", "open")
    assert (shown["hatch_day"], shown["lockdown"]) == ("2026-05-22", "2026-05-19")
    assert shown["candlings"][-1] == shown["lockdown"]
    assert (shown["setter"], shown["hatcher_id"], shown["left"]) == ("Cabinet 1", machine.pk, 40)
    assert 0 < shown["low_chicks"] <= shown["expected_chicks"] <= shown["high_chicks"] <= 40
    batch = program.get(f"/batches/{shown['batch_id']}/").json()
    assert (batch["expected"], batch["hatch_day"]) == (True, "2026-05-22")


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"eggs": 0}, "#/eggs"),
        ({"eggs": 61}, "#/eggs"),
        ({"programme": "dragons"}, "#/programme"),
        ({"set_on": "2026-01-01"}, "#/set_on"),
        ({"set_at": "2026-05-03T08:00:00Z"}, "#/set_at"),
        ({"set_at": "2026-05-01T08:00:00"}, "#/set_at"),
        ({"stored_days": 20}, "#/stored_days"),
        ({"name": "E" * 61}, "#/name"),
    ],
)
def test_eggs_that_can_not_be_set_so_are_refused_at_their_field(
    world: World, program: Program, changed: dict[str, Any], field: str
):
    reply = program.post("/egg-sets/", NEW | {"setter_id": cabinet(world).pk} | changed)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not EggSet.objects.exists()
    assert not Batch.objects.exists()


def test_a_set_moves_to_another_day_and_machine_by_who_saw_it_last(world: World, program: Program):
    egg_set, other = put_in(world, cabinet(world)), cabinet(world, "Cabinet 2")
    path = f"/egg-sets/{egg_set.pk}/"
    seen = program.get(path)

    assert program.patch(path, {"set_on": "2026-05-03"}).status_code == 428
    shown = program.patch(
        path, {"set_on": "2026-05-03", "setter_id": other.pk, "hatcher_id": other.pk}, seen=seen
    ).json()

    assert (shown["hatch_day"], shown["setter_id"], shown["eggs"]) == ("2026-05-24", other.pk, 40)
    assert program.get(f"/batches/{shown['batch_id']}/").json()["hatch_day"] == "2026-05-24"
    assert program.patch(path, {"eggs": 30}, seen=seen).status_code == 412
    assert list(wrong(program.patch(path, {"eggs": None}, If_Match="*"))) == ["#/eggs"]


def test_candling_is_recorded_once_under_a_key(world: World, program: Program):
    egg_set = put_in(world, cabinet(world))
    body = {"day": "2026-05-01", "clear": 5, "early_dead": 2, "key": "k" * 64}

    first = program.post(f"/egg-sets/{egg_set.pk}/candle/", body).json()
    again = program.post(f"/egg-sets/{egg_set.pk}/candle/", body).json()

    assert first == again
    assert (first["results"], first["left"]) == ({"clear": 5, "early_dead": 2}, 33)
    lines = program.get(f"/egg-sets/{egg_set.pk}/entries/").json()["items"]
    assert [(line["kind"], line["eggs"], line["member"]) for line in lines] == [
        ("clear", 5, "Ada"),
        ("early_dead", 2, "Ada"),
    ]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"clear": 41}, "#/clear"),
        ({"clear": -1}, "#/clear"),
        ({"clear": 1, "day": "2026-05-02"}, "#/day"),
        ({"pipped": 1}, "#/pipped"),
        ({}, "#"),
    ],
)
def test_what_candling_can_not_have_shown_is_refused(
    world: World, program: Program, body: dict[str, Any], field: str
):
    egg_set = put_in(world, cabinet(world))

    reply = program.post(f"/egg-sets/{egg_set.pk}/candle/", {"day": "2026-05-01"} | body)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not EggEntry.objects.exists()


def test_a_hatch_makes_the_batch_that_was_expected(world: World, program: Program):
    egg_set = put_in(world, cabinet(world), housing_id=world.housing["Brooder 1"].pk)
    hatch = {"day": "2026-05-22", "hatched": 30, "culled": 2, "pipped": 3, "version": 1}
    with time_machine.travel(at(21), tick=False):
        found = program.post(f"/egg-sets/{egg_set.pk}/hatch/", hatch).json()
        batch = program.get(f"/batches/{found['batch_id']}/").json()
        again = program.post(f"/egg-sets/{egg_set.pk}/hatch/", hatch)

    assert (found["egg_set"]["state"], found["egg_set"]["hatched_on"]) == ("hatched", "2026-05-22")
    assert found["egg_set"]["results"] == {"hatched": 30, "pipped": 3, "culled": 2}
    assert found["egg_set"]["expected_chicks"] is None
    assert (batch["expected"], batch["alive"]) == (False, 28)
    assert again.status_code == 422


def test_a_hatch_by_who_saw_an_older_set_and_one_too_early_are_refused(world: World, program: Program):
    egg_set = put_in(world, cabinet(world))
    path = f"/egg-sets/{egg_set.pk}/hatch/"

    assert list(wrong(program.post(path, {"day": "2026-05-01", "hatched": 30}))) == ["#/day"]
    with time_machine.travel(at(21), tick=False):
        program.patch(f"/egg-sets/{egg_set.pk}/", {"notes": "by the door"}, If_Match="*")
        late = program.post(path, {"day": "2026-05-22", "hatched": 30, "version": 1})
        none = program.post(path, {"day": "2026-05-22", "hatched": 0, "culled": 1})
    assert late.status_code == 409
    assert list(wrong(none)) == ["#/culled"]
    egg_set.refresh_from_db()
    assert egg_set.state == "open"


def test_nothing_hatched_leaves_no_batch(world: World, program: Program):
    egg_set = put_in(world, cabinet(world))
    with time_machine.travel(at(22), tick=False):
        found = program.post(f"/egg-sets/{egg_set.pk}/hatch/", {"day": "2026-05-22", "hatched": 0}).json()

    assert (found["batch_id"], found["egg_set"]["batch_id"]) == (None, None)
    assert not Batch.objects.exists()


def test_a_cancelled_set_stays_in_the_records_without_its_batch(world: World, program: Program):
    egg_set = put_in(world, cabinet(world))
    path = f"/egg-sets/{egg_set.pk}/"

    assert program.delete(path).status_code == 428
    assert program.delete(path, seen=program.get(path)).status_code == 204
    shown = program.get(path).json()
    assert (shown["state"], shown["batch_id"]) == ("cancelled", None)
    assert not Batch.objects.exists()


def test_egg_sets_are_filtered_paged_and_shown_in_parts(world: World, program: Program):
    one, two = cabinet(world), cabinet(world, "Cabinet 2")
    first, second = put_in(world, one), put_in(world, two, set_on=at(5).date())

    def ids(query: str = "") -> list[int]:
        return [item["id"] for item in program.get(f"/egg-sets/?{query}").json()["items"]]

    assert ids() == [first.pk, second.pk]
    assert ids(f"machine_id={two.pk}") == ids("from=2026-05-02") == [second.pk]
    assert ids("to=2026-05-02") == ids("limit=1") == [first.pk]
    assert ids("state=hatched") == []
    assert program.get("/egg-sets/?fields=stage").json()["items"][1] == {"id": second.pk, "stage": "planned"}


def test_helpers_record_and_do_not_plan(world: World, program: Program):
    egg_set = put_in(world, cabinet(world))
    helper, path = Program(world.add_member("Hal", "helper")), f"/egg-sets/{egg_set.pk}/"

    assert helper.get(path).status_code == 200
    assert helper.post(f"{path}candle/", {"day": "2026-05-01", "clear": 1}).status_code == 200
    assert helper.post("/egg-sets/", NEW | {"setter_id": egg_set.setter_id}).status_code == 403
    assert helper.patch(path, {"notes": "x"}, If_Match="*").status_code == 403
    assert helper.delete(path, If_Match="*").status_code == 403
    planner = Program(world.by, "read", "write")
    assert planner.post(f"{path}candle/", {"day": "2026-05-01", "clear": 1}).status_code == 403
    assert EggSet.objects.count() == EggEntry.objects.count() == 1


def test_another_farms_eggs_and_machines_are_not_found(world: World, elsewhere: World, program: Program):
    theirs = put_in(elsewhere, cabinet(elsewhere))
    mine = put_in(world, cabinet(world))
    path = f"/egg-sets/{theirs.pk}/"
    house = elsewhere.add_housing("Theirs").pk

    for reply in (
        program.get(path),
        program.patch(path, {"notes": "x"}, If_Match="*"),
        program.delete(path, If_Match="*"),
        program.get(f"{path}entries/"),
        program.post(f"{path}candle/", {"day": "2026-05-01", "clear": 1}),
        program.post(f"{path}hatch/", {"day": "2026-05-01", "hatched": 1}),
        program.post("/egg-sets/", NEW | {"setter_id": theirs.setter_id}),
        program.post("/egg-sets/", NEW | {"setter_id": mine.setter_id, "housing_id": house}),
        program.patch(f"/egg-sets/{mine.pk}/", {"setter_id": theirs.setter_id}, If_Match="*"),
    ):
        assert reply.status_code == 404
    assert [item["id"] for item in program.get("/egg-sets/").json()["items"]] == [mine.pk]
    assert EggSet.objects.count() == 2
    assert not EggEntry.objects.exists()


def test_more_egg_sets_take_no_more_queries(world: World, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/egg-sets/").status_code == 200
        return len(seen)

    put_in(world, cabinet(world))
    queries()
    few = queries()
    for number in range(4):
        put_in(world, cabinet(world, f"More {number}"))

    assert queries() == few
