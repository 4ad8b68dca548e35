"""The history over the API: read in words, taken back; and as a feed that a machine follows."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.verbs import VERBS
from farm.models import Away, Batch, CountEntry, HistoryEntry, Housing
from farm.services import aways, counts, housings
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import TODAY, World

SOURCES = Path(__file__).parents[2]


@pytest.fixture
def wrens(world: World) -> Batch:
    """40 birds in Brooder 1."""
    return world.add_batch("Wrens", birds=40, housing="Brooder 1")


def of(verb: str) -> HistoryEntry:
    """Return the one entry of a verb."""
    return HistoryEntry.objects.get(verb=verb)


def test_an_entry_says_who_did_what_field_by_field(world: World, program: Program):
    pen = world.housing["Pen 1"]
    housings.change(world.by, housing_id=pen.pk, expected_version=None, area_m2=9.0)
    entry = of("change housing")

    shown = program.get(f"/history/{entry.pk}/").json()

    assert shown == {
        "id": entry.pk,
        "at": "2026-05-01T10:00:00Z",
        "verb": "change housing",
        "noun": "housing",
        "noun_id": pen.pk,
        "summary": "Housing Pen 1 changed",
        "member_id": world.keeper.pk,
        "member": "Ada",
        "source": "page",
        "undoes_id": None,
        "undone_by_id": None,
        "can_undo": True,
        "things": [
            {
                "kind": "housing",
                "name": "Pen 1",
                "did": "changed",
                "fields": [{"label": "floor area", "before": "12.00 m²", "after": "9.00 m²"}],
            }
        ],
    }


def test_an_entry_is_taken_back_by_another(world: World, wrens: Batch, program: Program):
    counts.add(world.by, batch_id=wrens.pk, kind="died", birds=3, day=TODAY)
    entry = of("count")

    reply = program.post(f"/history/{entry.pk}/undo/")

    made = of("undo")
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/history/{made.pk}/")
    assert (reply.json()["undoes_id"], reply.json()["source"]) == (entry.pk, "api")
    assert program.get(f"/history/{entry.pk}/").json()["undone_by_id"] == made.pk
    assert program.get(f"/batches/{wrens.pk}/").json()["alive"] == 40
    again = program.post(f"/history/{entry.pk}/undo/")
    assert wrong(again) == {"#": ["This was already undone."]}


def test_what_was_changed_since_is_not_undone(world: World, program: Program):
    pen = world.housing["Pen 1"]
    housings.change(world.by, housing_id=pen.pk, expected_version=None, area_m2=9.0)
    first = of("change housing")
    housings.change(world.by, housing_id=pen.pk, expected_version=None, area_m2=8.0)

    reply = program.post(f"/history/{first.pk}/undo/")

    assert (reply.status_code, reply.json()["title"]) == (409, "Changed by somebody else")
    assert Housing.objects.get(pk=pen.pk).area_m2 == 8.0


def test_what_cannot_be_undone_is_refused(program: Program):
    entry = of("start farm")

    assert program.get(f"/history/{entry.pk}/").json()["can_undo"] is False
    assert program.post(f"/history/{entry.pk}/undo/").status_code == 422
    assert not HistoryEntry.objects.filter(verb="undo").exists()


def test_days_away_are_undone_by_a_token_for_people_alone(world: World):
    aways.add(world.by, member_id=world.keeper.pk, start=TODAY, end=TODAY + timedelta(days=1))
    path = f"/history/{of('add days away').pk}/undo/"

    assert Program(world.by, "read", "write").post(path).status_code == 403
    assert Away.objects.count() == 1
    assert Program(world.by, "write", "people").post(path).status_code == 201
    assert not Away.objects.exists()


def test_a_helper_reads_the_history_and_undoes_nothing(world: World, wrens: Batch):
    helper = Program(world.add_member("Eve", "helper"))
    counts.add(world.by, batch_id=wrens.pk, kind="died", birds=3, day=TODAY)
    path = f"/history/{of('count').pk}/"

    assert helper.get(path).status_code == 200
    assert helper.post(f"{path}undo/").status_code == 403
    assert Program(world.by, "read", "record").post(f"{path}undo/").status_code == 403
    assert CountEntry.objects.count() == 2


def test_children_read_no_history_because_it_names_customers(world: World):
    child = child_program(world)

    assert child.get("/history/").status_code == 403
    assert child.get(f"/history/{of('start farm').pk}/").status_code == 403


def test_the_history_is_listed_newest_first_filtered_and_page_by_page(
    world: World, wrens: Batch, program: Program
):
    counts.add(world.by, batch_id=wrens.pk, kind="died", birds=3, day=TODAY)
    program.post("/observations/", {"kind": "note", "batch_id": wrens.pk, "note": "Lively"})

    def verbs(query: str) -> list[str]:
        return [row["verb"] for row in program.get(f"/history/?fields=verb&{query}").json()["items"]]

    first = program.get("/history/?limit=2").json()
    assert [row["verb"] for row in first["items"]] == ["observe", "count"]
    assert verbs(f"limit=2&cursor={first['next']}") == ["make token", "start batch"]
    assert verbs("order=id&limit=1") == ["start farm"]
    assert verbs(f"noun=batch&noun_id={wrens.pk}") == ["observe", "count", "start batch"]
    assert verbs("noun=housing&order=id") == ["add housing"] * 3
    assert verbs("source=api") == ["observe"]
    assert verbs("since=2026-05-01T10:00:01Z") == []
    assert verbs("member_id=999999") == []


def test_ticks_are_left_out_at_will(world: World, program: Program):
    HistoryEntry.objects.filter(verb="start farm").update(noun="choremark")

    kept = [row["verb"] for row in program.get("/history/?ticks=false").json()["items"]]

    assert "start farm" not in kept
    assert len(kept) == HistoryEntry.objects.count() - 1


def test_another_farms_history_is_not_found(elsewhere: World, program: Program):
    elsewhere.add_housing("Theirs")
    entry = HistoryEntry.objects.get(verb="add housing", farm=elsewhere.farm)

    for reply in (program.get(f"/history/{entry.pk}/"), program.post(f"/history/{entry.pk}/undo/")):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    for path in ("/history/?limit=200", "/changes/?limit=200"):
        assert entry.pk not in [row["id"] for row in program.get(path).json()["items"]]
    assert Housing.objects.filter(name="Theirs").exists()


def test_more_entries_take_no_more_queries(world: World, wrens: Batch, program: Program):
    def queries(path: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get(path).status_code == 200
        return len(seen)

    counts.add(world.by, batch_id=wrens.pk, kind="died", birds=1, day=TODAY)
    queries("/history/")
    few = queries("/history/"), queries("/changes/")
    for number in range(6):
        counts.add(world.by, batch_id=wrens.pk, kind="died", birds=1, day=TODAY)
        housings.change(
            world.by, housing_id=world.housing["Pen 1"].pk, expected_version=None, area_m2=5.0 + number
        )

    assert (queries("/history/"), queries("/changes/")) == few


def test_changes_come_oldest_first_with_the_records_they_touched(world: World, program: Program):
    known = program.get("/changes/?limit=200").json()["next"]
    batch = world.add_batch("Wrens", housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)

    told = program.get(f"/changes/?since={known}").json()

    died = CountEntry.objects.get(kind="died")
    assert [(one["type"], one["noun_id"]) for one in told["items"]] == [
        ("batch.start_batch", batch.pk),
        ("batch.count", batch.pk),
    ]
    assert told["items"][1]["touched"] == [{"noun": "countentry", "id": died.pk, "how": "made"}]
    assert {"noun": "batch", "id": batch.pk, "how": "made"} in told["items"][0]["touched"]
    assert told["next"] == told["items"][-1]["id"]


def test_removed_and_changed_records_are_told_as_such(world: World, program: Program):
    known = program.get("/changes/?limit=200").json()["next"]
    pen = world.housing["Pen 1"].pk
    housings.change(world.by, housing_id=pen, expected_version=None, area_m2=9.0)
    housings.remove(world.by, housing_id=pen)

    told = program.get(f"/changes/?since={known}").json()["items"]

    assert [one["touched"] for one in told] == [
        [{"noun": "housing", "id": pen, "how": "changed"}],
        [{"noun": "housing", "id": pen, "how": "removed"}],
    ]


def test_the_number_to_ask_from_is_there_when_nothing_is_new(program: Program):
    known = program.get("/changes/?limit=200").json()["next"]

    assert program.get(f"/changes/?since={known}").json() == {"items": [], "next": known}
    assert program.get("/changes/?since=999999999").json() == {"items": [], "next": 999999999}


def test_read_little_by_little_every_change_comes_once(world: World, program: Program):
    world.add_batch("Wrens")
    found: list[int] = []
    known = 0
    while True:
        told = program.get(f"/changes/?since={known}&limit=2").json()
        if not told["items"]:
            break
        found += [one["id"] for one in told["items"]]
        known = told["next"]

    assert found == list(HistoryEntry.objects.order_by("pk").values_list("pk", flat=True))


def test_the_feed_is_for_keepers(world: World):
    assert Program(world.add_member("Eve", "helper")).get("/changes/").status_code == 403
    assert Program(world.by, "record").get("/changes/").status_code == 403


def verbs_written() -> Iterator[str]:
    """Find the verb of every write in the sources."""
    for package in ("farm", "calendars", "api", "tasks"):
        for path in (SOURCES / package).rglob("*.py"):
            tree = ast.parse(path.read_text())
            named = {
                target.id: node.value.value
                for node in tree.body
                if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant)
                for target in node.targets
                if isinstance(target, ast.Name)
            }
            for node in ast.walk(tree):
                if (
                    isinstance(node, ast.Call)
                    and getattr(node.func, "id", "") == "write"
                    and "role" in {one.arg for one in node.keywords}
                ):
                    verb = node.args[1]
                    yield verb.value if isinstance(verb, ast.Constant) else named[ast.unparse(verb)]


def test_the_list_of_verbs_is_true():
    assert sorted(set(verbs_written())) == list(VERBS)
