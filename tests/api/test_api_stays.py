"""Stays over the API: planned, changed by those who saw the newest version, removed; birds moved."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Batch, Stay
from farm.services import stays
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import TODAY, World


def day(days: int) -> str:
    return str(TODAY + timedelta(days=days))


@pytest.fixture
def wrens(world: World) -> Batch:
    """40 birds in Brooder 1, 14 days old."""
    return world.add_batch("Wrens", birds=40, housing="Brooder 1")


def test_a_stay_says_who_is_where_from_when(world: World, wrens: Batch, program: Program):
    (shown,) = program.get(f"/stays/?batch_id={wrens.pk}").json()["items"]

    assert shown == {
        "id": wrens.stays.get().pk,
        "version": 1,
        "batch_id": wrens.pk,
        "batch": "Wrens",
        "housing_id": world.housing["Brooder 1"].pk,
        "housing": "Brooder 1",
        "birds": 40,
        "start": day(-14),
        "end": None,
        "state": "going on",
        "actual": True,
        "pinned": False,
        "override_reason": "",
    }


def test_a_stay_is_planned_for_birds_that_will_be_free(world: World, program: Program):
    batch = world.add_batch("Wrens", birds=40)
    new = {"batch_id": batch.pk, "housing_id": world.housing["Brooder 2"].pk, "birds": 15, "start": day(3)}

    reply = program.post("/stays/", new | {"pinned": True})

    stay = Stay.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/stays/{stay.pk}/")
    assert (stay.birds, stay.start, stay.pinned) == (15, TODAY + timedelta(days=3), True)
    assert reply.json()["state"] == "planned"
    assert program.get(f"/stays/{stay.pk}/").json() == reply.json()


@pytest.mark.parametrize(
    ("field", "value"),
    [("birds", 0), ("birds", 41), ("start", day(-20)), ("end", day(2)), ("start", "2199-01-01"), ("whom", 1)],
)
def test_what_no_stay_can_be_is_refused_at_its_field(
    world: World, program: Program, field: str, value: object
):
    batch = world.add_batch("Wrens", birds=40)
    new = {"batch_id": batch.pk, "housing_id": world.housing["Brooder 2"].pk, "birds": 15, "start": day(3)}

    reply = program.post("/stays/", new | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert not Stay.objects.exists()


def test_birds_without_heat_they_need_want_a_reason(world: World, program: Program):
    batch = world.add_batch("Wrens", birds=40, age=1)
    new = {"batch_id": batch.pk, "housing_id": world.housing["Pen 1"].pk, "birds": 40, "start": day(0)}

    assert list(wrong(program.post("/stays/", new))) == ["#/override_reason"]
    assert program.post("/stays/", new | {"override_reason": "A broody hen leads them"}).status_code == 201


def test_a_change_needs_the_version_that_was_read(wrens: Batch, program: Program):
    path = f"/stays/{wrens.stays.get().pk}/"
    seen = program.get(path)

    assert program.patch(path, {"end": day(5)}).status_code == 428
    assert program.patch(path, {"end": day(5)}, seen=seen).json()["end"] == day(5)
    assert program.patch(path, {"end": None}, seen=seen).status_code == 412
    assert wrens.stays.get().end == TODAY + timedelta(days=5)


def test_a_stay_is_pinned_and_given_another_housing(world: World, wrens: Batch, program: Program):
    path = f"/stays/{wrens.stays.get().pk}/"

    reply = program.patch(path, {"housing_id": world.housing["Brooder 2"].pk, "pinned": True}, If_Match="*")

    assert (reply.json()["housing"], reply.json()["pinned"], reply.json()["version"]) == (
        "Brooder 2",
        True,
        2,
    )


def test_a_stay_is_removed_by_those_who_saw_its_newest_version(wrens: Batch, program: Program):
    path = f"/stays/{wrens.stays.get().pk}/"
    seen = program.get(path)
    program.patch(path, {"pinned": True}, seen=seen)

    assert program.delete(path).status_code == 428
    assert program.delete(path, seen=seen).status_code == 412
    assert Stay.objects.count() == 1
    assert program.delete(path, seen=program.get(path)).status_code == 204
    assert not Stay.objects.exists()


def test_some_birds_move_and_the_rest_stay(world: World, wrens: Batch, program: Program):
    move = {"from_id": world.housing["Brooder 1"].pk, "to_id": world.housing["Brooder 2"].pk, "birds": 15}

    reply = program.post(f"/batches/{wrens.pk}/moves/", move | {"day": day(0)})

    assert (reply.status_code, reply.json()["housing"], reply.json()["birds"]) == (200, "Brooder 2", 15)
    places = program.get(f"/batches/{wrens.pk}/").json()["places"]
    assert {place["housing"]: place["birds"] for place in places} == {"Brooder 1": 25, "Brooder 2": 15}


@pytest.mark.parametrize(("field", "value"), [("birds", 41), ("day", "2199-01-01"), ("birds", "all")])
def test_a_move_that_cannot_be_is_refused_at_its_field(
    world: World, wrens: Batch, program: Program, field: str, value: object
):
    move = {"from_id": world.housing["Brooder 1"].pk, "to_id": world.housing["Brooder 2"].pk}

    reply = program.post(f"/batches/{wrens.pk}/moves/", move | {"birds": 15, "day": day(0)} | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert Stay.objects.count() == 1


def test_a_helper_moves_birds_but_plans_no_stays(world: World, wrens: Batch):
    helper = Program(world.add_member("Eve", "helper"))
    path = f"/stays/{wrens.stays.get().pk}/"
    move = {"from_id": world.housing["Brooder 1"].pk, "to_id": world.housing["Brooder 2"].pk, "birds": 40}
    new = {"batch_id": wrens.pk, "housing_id": world.housing["Brooder 2"].pk, "birds": 1, "start": day(3)}

    assert helper.post("/stays/", new).status_code == 403
    assert helper.patch(path, {"pinned": True}, If_Match="*").status_code == 403
    assert helper.delete(path, If_Match="*").status_code == 403
    assert helper.post(f"/batches/{wrens.pk}/moves/", move | {"day": day(0)}).status_code == 200


def test_a_child_and_a_token_that_records_move_nobody(world: World, wrens: Batch):
    move = {"from_id": world.housing["Brooder 1"].pk, "to_id": world.housing["Brooder 2"].pk, "birds": 40}

    for refused in (child_program(world), Program(world.by, "read", "record")):
        assert refused.post(f"/batches/{wrens.pk}/moves/", move | {"day": day(0)}).status_code == 403
    assert Stay.objects.count() == 1


def test_another_farms_stays_batches_and_housing_are_not_found(
    world: World, elsewhere: World, wrens: Batch, program: Program
):
    elsewhere.add_housing("Theirs")
    theirs = elsewhere.add_batch("Their birds", housing="Theirs")
    stay, place = theirs.stays.get(), elsewhere.housing["Theirs"].pk
    mine = world.housing["Brooder 1"].pk
    new = {"batch_id": wrens.pk, "housing_id": mine, "birds": 1, "start": day(0)}
    move = {"from_id": mine, "to_id": mine, "birds": 1, "day": day(0)}

    for reply in (
        program.get(f"/stays/{stay.pk}/"),
        program.patch(f"/stays/{stay.pk}/", {"pinned": True}, If_Match="*"),
        program.patch(f"/stays/{wrens.stays.get().pk}/", {"housing_id": place}, If_Match="*"),
        program.delete(f"/stays/{stay.pk}/", If_Match="*"),
        program.post("/stays/", new | {"batch_id": theirs.pk}),
        program.post("/stays/", new | {"housing_id": place}),
        program.post(f"/batches/{theirs.pk}/moves/", move),
        program.post(f"/batches/{wrens.pk}/moves/", move | {"to_id": place}),
        program.post(f"/batches/{wrens.pk}/moves/", move | {"from_id": place}),
    ):
        assert reply.status_code == 404
        assert b"Their" not in reply.content
    assert program.get(f"/stays/?housing_id={place}").json()["items"] == []
    assert Stay.objects.count() == 2


def test_stays_are_listed_over_some_days_page_by_page(world: World, wrens: Batch, program: Program):
    stay = wrens.stays.get()
    stays.change(world.by, stay_id=stay.pk, expected_version=None, end=TODAY + timedelta(days=3))
    for start in (3, 4, 5):
        stays.add(
            world.by,
            batch_id=wrens.pk,
            housing_id=world.housing["Brooder 2"].pk,
            birds=10,
            start=TODAY + timedelta(days=start),
            end=TODAY + timedelta(days=10 + start),
        )

    def starts(query: str) -> list[str]:
        return [item["start"] for item in program.get(f"/stays/?{query}").json()["items"]]

    assert starts(f"to={day(4)}") == [day(-14), day(3)]
    assert starts(f"from={day(3)}&order=-start") == [day(5), day(4), day(3)]  # the first ended that day
    assert starts(f"housing_id={world.housing['Brooder 1'].pk}") == [day(-14)]
    first = program.get("/stays/?limit=3").json()
    assert starts(f"limit=3&cursor={first['next']}") == [day(5)]


def test_more_stays_take_no_more_queries(world: World, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/stays/").status_code == 200
        return len(seen)

    world.add_batch("First", housing="Brooder 1")
    queries()
    few = queries()
    for number in range(6):
        world.add_batch(f"More {number}", housing="Brooder 2")

    assert queries() == few
