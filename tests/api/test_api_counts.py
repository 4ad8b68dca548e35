"""The ledger over the API: lines are added once, taken back by their opposite, never edited."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Batch, CountEntry
from farm.services import counts
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import TODAY, World

DIED = {"kind": "died", "birds": 3, "day": str(TODAY)}


@pytest.fixture
def wrens(world: World) -> Batch:
    """40 birds in Brooder 1."""
    return world.add_batch("Wrens", birds=40, housing="Brooder 1")


def test_a_line_is_added_with_its_sign_and_the_birds_left(world: World, wrens: Batch, program: Program):
    reply = program.post(
        f"/batches/{wrens.pk}/counts/", DIED | {"housing_id": world.housing["Brooder 1"].pk, "note": "cold"}
    )

    line = CountEntry.objects.get(kind="died")
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/counts/{line.pk}/")
    assert reply.json() == {
        "id": line.pk,
        "batch_id": wrens.pk,
        "kind": "died",
        "birds": -3,
        "day": str(TODAY),
        "alive": 37,
        "struck": False,
        "housing_id": world.housing["Brooder 1"].pk,
        "housing": "Brooder 1",
        "note": "cold",
        "override_reason": "",
        "reverses_id": None,
        "member": "Ada",
        "created_at": "2026-05-01T10:00:00Z",
    }
    assert program.get(f"/counts/{line.pk}/").json() == reply.json()


def test_the_same_key_again_is_the_same_line(wrens: Batch, program: Program):
    first = program.post(f"/batches/{wrens.pk}/counts/", DIED | {"key": "phone-1"})
    again = program.post(f"/batches/{wrens.pk}/counts/", DIED | {"key": "phone-1"})

    assert again.json() == first.json()
    assert CountEntry.objects.filter(kind="died").count() == 1


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("birds", 41),
        ("birds", 0),
        ("day", "2026-05-02"),
        ("kind", "reversed"),
        ("kind", "flew"),
        ("note", "x" * 201),
    ],
)
def test_a_line_that_cannot_be_right_is_refused_at_its_field(
    wrens: Batch, program: Program, field: str, value: object
):
    reply = program.post(f"/batches/{wrens.pk}/counts/", DIED | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert CountEntry.objects.count() == 1


def test_birds_are_not_lost_where_they_never_were(world: World, wrens: Batch, program: Program):
    reply = program.post(f"/batches/{wrens.pk}/counts/", DIED | {"housing_id": world.housing["Pen 1"].pk})

    assert list(wrong(reply)) == ["#/housing_id"]
    assert CountEntry.objects.count() == 1


def test_a_line_is_taken_back_once_by_its_opposite(world: World, wrens: Batch, program: Program):
    line = counts.add(world.by, batch_id=wrens.pk, kind="died", birds=3, day=TODAY)

    reply = program.post(f"/counts/{line.pk}/reverse/")

    assert reply.status_code == 201
    assert (reply.json()["kind"], reply.json()["birds"], reply.json()["reverses_id"]) == (
        "reversed",
        3,
        line.pk,
    )
    assert reply.json()["alive"] == 40
    assert program.get(f"/counts/{line.pk}/").json()["struck"] is True
    assert program.post(f"/counts/{line.pk}/reverse/").status_code == 422
    assert CountEntry.objects.count() == 3


def test_what_would_leave_fewer_than_no_birds_is_not_taken_back(world: World, wrens: Batch, program: Program):
    arrived = wrens.count_entries.get()
    counts.add(world.by, batch_id=wrens.pk, kind="died", birds=3, day=TODAY)

    assert program.post(f"/counts/{arrived.pk}/reverse/").status_code == 422
    assert CountEntry.objects.count() == 2


def test_a_helper_counts_and_a_child_only_looks(world: World, wrens: Batch):
    helper, child = Program(world.add_member("Eve", "helper")), child_program(world)
    path = f"/batches/{wrens.pk}/counts/"

    assert child.get(path).status_code == 200
    assert child.post(path, DIED).status_code == 403
    made = helper.post(path, DIED)
    assert made.json()["member"] == "Eve"
    assert child.post(f"/counts/{made.json()['id']}/reverse/").status_code == 403
    assert CountEntry.objects.count() == 2


def test_a_token_needs_the_scope_to_record(world: World, wrens: Batch):
    path = f"/batches/{wrens.pk}/counts/"

    assert Program(world.by, "read", "write").post(path, DIED).status_code == 403
    assert Program(world.by, "record").post(path, DIED).status_code == 201
    assert Program(world.by, "record").get(path).status_code == 403


def test_another_farms_ledger_is_not_found(world: World, elsewhere: World, wrens: Batch, program: Program):
    theirs = elsewhere.add_batch("Theirs")
    place = elsewhere.add_housing("Theirs")

    for reply in (
        program.get(f"/batches/{theirs.pk}/counts/"),
        program.post(f"/batches/{theirs.pk}/counts/", DIED),
        program.post(f"/batches/{wrens.pk}/counts/", DIED | {"housing_id": place.pk}),
        program.get(f"/counts/{theirs.count_entries.get().pk}/"),
        program.post(f"/counts/{theirs.count_entries.get().pk}/reverse/"),
    ):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    assert CountEntry.objects.count() == 2


def test_the_ledger_is_read_newest_first_page_by_page(world: World, wrens: Batch, program: Program):
    for birds in (1, 2):
        counts.add(world.by, batch_id=wrens.pk, kind="died", birds=birds, day=TODAY)

    first = program.get(f"/batches/{wrens.pk}/counts/?limit=2").json()
    second = program.get(f"/batches/{wrens.pk}/counts/?limit=2&cursor={first['next']}").json()

    lines = [(line["birds"], line["alive"]) for line in first["items"] + second["items"]]
    assert lines == [(-2, 37), (-1, 39), (40, 40)]
    assert second["next"] is None


def test_more_lines_take_no_more_queries(world: World, wrens: Batch, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get(f"/batches/{wrens.pk}/counts/").status_code == 200
        return len(seen)

    place = world.housing["Brooder 1"].pk
    counts.add(world.by, batch_id=wrens.pk, kind="died", birds=1, day=TODAY, housing_id=place)
    queries()
    few = queries()
    for _number in range(6):
        counts.add(world.by, batch_id=wrens.pk, kind="died", birds=1, day=TODAY, housing_id=place)

    assert queries() == few
