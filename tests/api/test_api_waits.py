"""Days to wait after a medicine over the API: entered, moved on, removed; and they bind."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Batch, CountEntry, WaitingTime
from farm.services import waits
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import TODAY, World

NEW = {"what": "Wormer", "given_on": "2026-05-01", "days": 14}


@pytest.fixture
def wrens(world: World) -> Batch:
    """40 birds of 14 days."""
    return world.add_batch("Wrens", birds=40)


@pytest.fixture
def wait(world: World, wrens: Batch) -> WaitingTime:
    """14 days from today."""
    return waits.add(world.by, batch_id=wrens.pk, what="Wormer", given_on=TODAY, days=14)


def test_days_to_wait_are_entered_and_say_until_when(wrens: Batch, program: Program):
    reply = program.post(f"/batches/{wrens.pk}/waits/", NEW)

    wait = WaitingTime.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/waits/{wait.pk}/")
    assert reply.json() == {
        "id": wait.pk,
        "version": 1,
        "batch_id": wrens.pk,
        "product": "meat",
        "note": "",
        "allowed_on": reply.json()["allowed_on"],
        "binds": True,
        **NEW,
    }
    assert reply.json()["allowed_on"] > "2026-05-14"
    assert program.get(f"/waits/{wait.pk}/").json() == reply.json()
    assert program.get(f"/batches/{wrens.pk}/waits/").json()["items"] == [reply.json()]


def test_birds_that_wait_are_not_processed_without_a_reason(
    wrens: Batch, wait: WaitingTime, program: Program
):
    line = {"kind": "processed", "birds": 1, "day": str(TODAY)}

    assert list(wrong(program.post(f"/batches/{wrens.pk}/counts/", line))) == ["#/override_reason"]
    assert CountEntry.objects.count() == 1
    kept = program.post(f"/batches/{wrens.pk}/counts/", line | {"override_reason": "Emergency, not eaten"})
    assert kept.json()["override_reason"] == "Emergency, not eaten"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("what", " "),
        ("days", 366),
        ("days", -1),
        ("product", "feathers"),
        ("given_on", "2026-05-02"),
        ("given_on", "2026-04-01"),
        ("note", "x" * 201),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(wrens: Batch, program: Program, field: str, value: object):
    reply = program.post(f"/batches/{wrens.pk}/waits/", NEW | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert not WaitingTime.objects.exists()


def test_a_change_needs_the_version_that_was_read(wait: WaitingTime, program: Program):
    path = f"/waits/{wait.pk}/"
    seen = program.get(path)

    assert program.patch(path, {"days": 20}).status_code == 428
    assert program.patch(path, {"days": 20}, seen=seen).json()["days"] == 20
    assert program.patch(path, {"days": 1}, seen=seen).status_code == 412
    assert program.delete(path, seen=seen).status_code == 412
    assert WaitingTime.objects.get().days == 20
    assert program.delete(path, seen=program.get(path)).status_code == 204
    assert not WaitingTime.objects.exists()


def test_a_helper_enters_and_only_a_keeper_changes(world: World, wrens: Batch, wait: WaitingTime):
    helper, child = Program(world.add_member("Eve", "helper")), child_program(world)
    path = f"/waits/{wait.pk}/"

    assert child.get(path).status_code == 200
    assert child.post(f"/batches/{wrens.pk}/waits/", NEW).status_code == 403
    assert helper.patch(path, {"days": 1}, If_Match="*").status_code == 403
    assert helper.delete(path, If_Match="*").status_code == 403
    assert Program(world.by, "read", "write").post(f"/batches/{wrens.pk}/waits/", NEW).status_code == 403
    assert [row.days for row in WaitingTime.objects.all()] == [14]
    assert helper.post(f"/batches/{wrens.pk}/waits/", NEW).status_code == 201


def test_another_farms_days_to_wait_are_not_found(elsewhere: World, program: Program):
    theirs = elsewhere.add_batch("Theirs")
    wait = waits.add(elsewhere.by, batch_id=theirs.pk, what="Theirs", given_on=TODAY, days=3)

    for reply in (
        program.get(f"/batches/{theirs.pk}/waits/"),
        program.post(f"/batches/{theirs.pk}/waits/", NEW),
        program.get(f"/waits/{wait.pk}/"),
        program.patch(f"/waits/{wait.pk}/", {"days": 1}, If_Match="*"),
        program.delete(f"/waits/{wait.pk}/", If_Match="*"),
    ):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    assert [row.days for row in WaitingTime.objects.all()] == [3]


def test_more_days_to_wait_take_no_more_queries(
    world: World, wrens: Batch, wait: WaitingTime, program: Program
):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get(f"/batches/{wrens.pk}/waits/").status_code == 200
        return len(seen)

    queries()
    few = queries()
    for days in range(5):
        waits.add(world.by, batch_id=wrens.pk, what="Wormer", given_on=TODAY, days=days)

    assert queries() == few
