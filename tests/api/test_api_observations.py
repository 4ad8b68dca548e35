"""What was seen, over the API: recorded once, by anybody of the farm, and listed newest first."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Batch, Observation
from farm.services import observations
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import NOON, World


@pytest.fixture
def wrens(world: World) -> Batch:
    """40 birds in Brooder 1."""
    return world.add_batch("Wrens", birds=40, housing="Brooder 1")


def test_a_weight_is_recorded_now(world: World, wrens: Batch, program: Program):
    new = {"kind": "weight", "batch_id": wrens.pk, "value": 131.5, "birds": 10}

    reply = program.post("/observations/", new)

    seen = Observation.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/observations/{seen.pk}/")
    assert reply.json() == {
        "id": seen.pk,
        "kind": "weight",
        "at": "2026-05-01T10:00:00Z",
        "batch_id": wrens.pk,
        "batch": "Wrens",
        "housing_id": None,
        "housing": None,
        "value": 131.5,
        "birds": 10,
        "word": "",
        "note": "",
        "member": "Ada",
    }
    assert program.get(f"/observations/{seen.pk}/").json() == reply.json()


def test_an_instant_is_read_with_its_offset(wrens: Batch, program: Program):
    new = {"kind": "temperature", "batch_id": wrens.pk, "value": 30, "at": "2026-05-01T07:00:00+02:00"}

    assert program.post("/observations/", new).json()["at"] == "2026-05-01T05:00:00Z"


def test_the_same_key_again_is_the_same_observation(wrens: Batch, program: Program):
    new = {"kind": "behaviour", "batch_id": wrens.pk, "word": "huddled", "key": "phone-1"}

    assert program.post("/observations/", new).json() == program.post("/observations/", new).json()
    assert Observation.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("kind", "smell"),
        ("value", None),
        ("value", 99),
        ("value", "warm"),
        ("at", "2026-05-01T07:00:00"),
        ("at", "2026-05-01T23:00:00Z"),
        ("at", "0001-01-01T00:00:00Z"),
        ("at", "2024-05-01T00:00:00Z"),
        ("batch_id", None),
        ("birds", 0),
        ("note", "x" * 501),
        ("note", "\x00"),
    ],
)
def test_what_nobody_can_have_seen_is_refused_at_its_field(
    wrens: Batch, program: Program, field: str, value: object
):
    new = {"kind": "temperature", "batch_id": wrens.pk, "value": 30.0}

    reply = program.post("/observations/", new | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert not Observation.objects.exists()


@pytest.mark.parametrize(("kind", "field"), [("behaviour", "word"), ("note", "note")])
def test_each_kind_asks_for_its_own_field(wrens: Batch, program: Program, kind: str, field: str):
    reply = program.post("/observations/", {"kind": kind, "batch_id": wrens.pk})

    assert list(wrong(reply)) == [f"#/{field}"]


def test_a_child_records_what_it_saw(world: World, wrens: Batch):
    child = child_program(world)

    reply = child.post("/observations/", {"kind": "note", "batch_id": wrens.pk, "note": "One limps"})

    assert (reply.status_code, reply.json()["member"]) == (201, "Tim")


def test_a_token_that_may_not_record_records_nothing(world: World, wrens: Batch):
    reply = Program(world.by, "read", "write").post(
        "/observations/", {"kind": "note", "batch_id": wrens.pk, "note": "One limps"}
    )

    assert reply.status_code == 403
    assert not Observation.objects.exists()


def test_another_farms_observations_are_not_found(elsewhere: World, program: Program):
    theirs, place = elsewhere.add_batch("Theirs"), elsewhere.add_housing("Theirs")
    seen = observations.add(elsewhere.by, kind="note", batch_id=theirs.pk, note="Theirs")
    new = {"kind": "note", "note": "Ours"}

    for reply in (
        program.get(f"/observations/{seen.pk}/"),
        program.post("/observations/", new | {"batch_id": theirs.pk}),
        program.post("/observations/", new | {"housing_id": place.pk}),
    ):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    assert program.get(f"/observations/?batch_id={theirs.pk}").json()["items"] == []
    assert Observation.objects.count() == 1


def test_observations_are_listed_newest_first_filtered_and_page_by_page(
    world: World, wrens: Batch, program: Program
):
    place = world.housing["Pen 1"].pk
    for hours in range(3):
        at = NOON - timedelta(hours=hours)
        observations.add(world.by, kind="note", batch_id=wrens.pk, note=f"{hours} hours ago", at=at)
    observations.add(world.by, kind="temperature", housing_id=place, value=18, at=NOON - timedelta(hours=5))

    def notes(query: str) -> list[str]:
        return [item["note"] for item in program.get(f"/observations/?{query}").json()["items"]]

    first = program.get("/observations/?limit=2").json()
    assert [item["note"] for item in first["items"]] == ["0 hours ago", "1 hours ago"]
    assert notes(f"cursor={first['next']}") == ["2 hours ago", ""]
    assert notes(f"housing_id={place}") == [""]
    assert notes("kind=note&since=2026-05-01T09:00:00Z&before=2026-05-01T10:00:00Z") == ["1 hours ago"]
    assert wrong(program.get("/observations/?since=2026-05-01T09:00:00")).keys() == {"since"}


def test_more_observations_take_no_more_queries(world: World, wrens: Batch, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/observations/").status_code == 200
        return len(seen)

    observations.add(world.by, kind="note", batch_id=wrens.pk, note="One")
    queries()
    few = queries()
    for number in range(6):
        observations.add(world.by, kind="note", housing_id=world.housing["Pen 1"].pk, note=f"More {number}")

    assert queries() == few
