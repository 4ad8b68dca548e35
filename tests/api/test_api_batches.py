"""Batches over the API: read in pages, started once, changed only by those who saw the newest version."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Batch, CountEntry, HistoryEntry
from farm.services import counts
from tests.api.api_world import Program, wrong
from tests.conftest import TODAY, World

NEW = {"name": "Robins", "programme": "chicken_layer_brown", "hatch_day": "2026-05-01", "birds": 30}


def test_a_batch_shows_who_is_alive_and_where(world: World, program: Program):
    batch = world.add_batch("Wrens", birds=40, housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)

    shown = program.get(f"/batches/{batch.pk}/").json()

    assert shown["alive"] == 37
    assert shown["age_days"] == 14
    assert shown["places"] == [
        {"housing_id": world.housing["Brooder 1"].pk, "housing": "Brooder 1", "birds": 37}
    ]
    assert shown["state"] == "current"


def test_starting_a_batch_answers_with_its_address_and_its_first_count(world: World, program: Program):
    reply = program.post("/batches/", NEW | {"housing_id": world.housing["Brooder 1"].pk})

    assert reply.status_code == 201
    batch = Batch.objects.get(name="Robins")
    assert reply["Location"] == f"/api/v1/batches/{batch.pk}/"
    assert program.get(f"/batches/{batch.pk}/").json() == reply.json()
    assert list(CountEntry.objects.values_list("kind", "birds")) == [("arrived", 30)]


def test_the_history_says_that_it_came_over_the_api(world: World, program: Program):
    program.post("/batches/", NEW)

    entry = HistoryEntry.objects.filter(verb="start batch").get()
    assert (entry.face, entry.member) == ("api", world.keeper)


def test_what_a_service_refuses_is_said_at_its_field(world: World, program: Program):
    world.add_batch("Robins")

    reply = program.post("/batches/", NEW)

    assert (reply.status_code, reply["Content-Type"]) == (422, "application/problem+json")
    assert list(wrong(reply)) == ["#/name"]
    assert Batch.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "value"),
    [("birds", 0), ("birds", "many"), ("hatch_day", "0001-01-01"), ("name", "a\x00b"), ("colour", "red")],
)
def test_what_no_record_could_hold_is_refused_at_its_field(program: Program, field: str, value: object):
    reply = program.post("/batches/", NEW | {field: value})

    assert reply.status_code == 422
    assert list(wrong(reply)) == [f"#/{field}"]
    assert not Batch.objects.exists()


def test_a_change_needs_the_version_that_was_read(world: World, program: Program):
    batch = world.add_batch("Wrens")
    seen = program.get(f"/batches/{batch.pk}/")

    assert program.patch(f"/batches/{batch.pk}/", {"breed": "Sussex"}).status_code == 428
    assert program.patch(f"/batches/{batch.pk}/", {"breed": "Sussex"}, seen=seen).status_code == 200
    late = program.patch(f"/batches/{batch.pk}/", {"breed": "Welsummer"}, seen=seen)

    assert late.status_code == 412
    assert late.json()["version"] == 2
    assert late.json()["changes"] == ["Ada: Batch Wrens changed"]
    batch.refresh_from_db()
    assert batch.breed == "Sussex"


def test_a_count_leaves_the_version_but_not_the_answer_as_it_was(world: World, program: Program):
    batch = world.add_batch("Wrens")
    seen = program.get(f"/batches/{batch.pk}/")
    assert program.get(f"/batches/{batch.pk}/", If_None_Match=seen["ETag"]).status_code == 304

    counts.add(world.by, batch_id=batch.pk, kind="died", birds=1, day=TODAY)

    assert program.get(f"/batches/{batch.pk}/", If_None_Match=seen["ETag"]).status_code == 200
    assert program.patch(f"/batches/{batch.pk}/", {"breed": "Sussex"}, seen=seen).status_code == 200


def test_null_clears_only_what_may_be_empty(world: World, program: Program):
    batch = world.add_batch("Wrens", leaves_on=TODAY + timedelta(days=60))
    seen = program.get(f"/batches/{batch.pk}/")

    assert wrong(program.patch(f"/batches/{batch.pk}/", {"name": None}, seen=seen)).keys() == {"#/name"}
    assert program.patch(f"/batches/{batch.pk}/", {"leaves_on": None}, seen=seen).json()["leaves_on"] is None


def test_a_list_is_read_page_by_page_in_the_order_asked_for(world: World, program: Program):
    for number in range(5):
        world.add_batch(f"Batch {number}", age=number)

    names, cursor = [], ""
    while True:
        page = program.get(f"/batches/?limit=2&order=-hatch_day&cursor={cursor}").json()
        names += [item["name"] for item in page["items"]]
        if page["next"] is None:
            break
        cursor = page["next"]
        world.add_batch(f"Later {len(names)}", age=0)  # ahead of what was read: seen by the next reading

    assert names == [f"Batch {number}" for number in range(5)]


def test_a_cursor_of_another_order_is_refused(world: World, program: Program):
    world.add_batch("Wrens")
    world.add_batch("Robins")
    cursor = program.get("/batches/?limit=1&order=name").json()["next"]

    for other in (cursor, "bm9uc2Vuc2U", "WzFd", "%00"):
        reply = program.get(f"/batches/?limit=1&order=hatch_day&cursor={other}")
        assert (reply.status_code, list(wrong(reply))) == (422, ["cursor"])


def test_only_the_fields_asked_for_come(world: World, program: Program):
    batch = world.add_batch("Wrens")

    page = program.get("/batches/?fields=name,alive").json()

    assert page["items"] == [{"id": batch.pk, "name": "Wrens", "alive": 40}]
    assert wrong(program.get("/batches/?fields=colour")) == {"fields": ["There is no field colour."]}


def test_lists_are_filtered(world: World, program: Program):
    world.add_batch("Wrens", age=5)
    world.add_batch("Robins", age=50)
    world.add_batch("Finches", hatch_day=TODAY + timedelta(days=9))

    def names(query: str) -> list[str]:
        return [item["name"] for item in program.get(f"/batches/?{query}").json()["items"]]

    assert names("state=expected") == ["Finches"]
    assert names("name=REN") == ["Wrens"]
    assert names(f"hatched_before={TODAY - timedelta(days=20)}") == ["Robins"]
    assert names("species=duck") == []


def test_another_farms_batch_is_not_found(elsewhere: World, program: Program):
    theirs = elsewhere.add_batch("Theirs", programme="chicken_layer_brown")

    for reply in (
        program.get(f"/batches/{theirs.pk}/"),
        program.patch(f"/batches/{theirs.pk}/", {"breed": "x"}, If_Match="*"),
    ):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    assert program.get("/batches/").json()["items"] == []


def test_more_batches_take_no_more_queries(world: World, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/batches/").status_code == 200
        return len(seen)

    for number in range(2):
        world.add_batch(f"First {number}", housing="Brooder 1")
    queries()
    few = queries()
    for number in range(8):
        world.add_batch(f"More {number}", housing="Brooder 2")

    assert queries() == few
