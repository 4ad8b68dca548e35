"""The keeper's own chores over the API: added, changed by who saw the newest version, ended, removed."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import OwnChore
from farm.services import chores, own_chores
from tests.api.api_session import Session
from tests.api.api_world import Program, wrong
from tests.conftest import TODAY, World
from tests.farm.plan_cases import day

NEW = {"title": "Oil the door", "start": "2026-05-04", "repeat": "FREQ=WEEKLY;BYDAY=MO,TH", "minutes": 5}


def add(world: World, title: str = "Oil the door", **fields: Any) -> OwnChore:
    return own_chores.add(world.by, title=title, **({"start": TODAY} | fields))


def test_an_added_chore_has_an_address_and_says_when_it_is_due(world: World, program: Program):
    housing = world.housing["Pen 1"].pk

    reply = program.post(
        "/chores/", NEW | {"housing_id": housing, "needs": ["lifting"], "checklist": ["oil", "rag"]}
    )

    chore = OwnChore.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/chores/{chore.pk}/")
    shown = reply.json()
    assert shown == program.get(f"/chores/{chore.pk}/").json()
    assert (shown["repeat"], shown["next_on"]) == ("FREQ=WEEKLY;BYDAY=MO,TH", "2026-05-04")
    assert shown["repeats"] == "every week on Monday and Thursday"
    assert (shown["housing_id"], shown["needs"], shown["checklist"]) == (housing, ["lifting"], ["oil", "rag"])
    due = program.get("/occurrences/?from=2026-05-04").json()["items"]
    assert [one["source"] for one in due] == [f"own:{chore.pk}/own_chore"]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"title": " "}, "#/title"),
        ({"minutes": 0}, "#/minutes"),
        ({"repeat": "FREQ=HOURLY"}, "#/repeat"),
        ({"repeat": "FREQ=DAILY;UNTIL=20260101"}, "#/repeat"),
        ({"start": "2040-01-01"}, "#/start"),
        ({"needs": ["flying"]}, "#/needs/0"),
        ({"needs": ["heat"], "who": "child"}, "#/who"),
        ({"checklist": [""]}, "#/checklist/0"),
        ({"colour": "red"}, "#/colour"),
    ],
)
def test_what_a_chore_can_not_be_is_refused_at_its_field(
    program: Program, changed: dict[str, Any], field: str
):
    reply = program.post("/chores/", NEW | changed)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not OwnChore.objects.exists()


def test_another_farms_housing_is_not_found(elsewhere: World, program: Program):
    theirs = elsewhere.add_housing("Theirs")

    assert program.post("/chores/", NEW | {"housing_id": theirs.pk}).status_code == 404
    assert not OwnChore.objects.exists()


def test_a_change_needs_the_version_that_was_read(world: World, program: Program):
    chore = add(world)
    seen = program.get(f"/chores/{chore.pk}/")

    assert program.patch(f"/chores/{chore.pk}/", {"minutes": 9}).status_code == 428
    assert program.patch(f"/chores/{chore.pk}/", {"minutes": 9}, seen=seen).json()["minutes"] == 9
    assert program.patch(f"/chores/{chore.pk}/", {"minutes": 8}, seen=seen).status_code == 412
    chore.refresh_from_db()
    assert chore.minutes == 9


def test_what_is_left_out_of_a_change_stays(world: World, program: Program):
    chore = add(world, housing_id=world.housing["Pen 1"].pk, checklist=["oil"])

    shown = program.patch(f"/chores/{chore.pk}/", {"title": "Oil both doors"}, If_Match="*").json()
    cleared = program.patch(f"/chores/{chore.pk}/", {"housing_id": None}, If_Match="*").json()

    assert (shown["housing_id"], shown["checklist"]) == (world.housing["Pen 1"].pk, ["oil"])
    assert cleared["housing_id"] is None
    assert list(wrong(program.patch(f"/chores/{chore.pk}/", {"title": None}, If_Match="*"))) == ["#/title"]


def test_other_days_of_a_ticked_chore_begin_a_new_one_at_its_own_address(world: World, program: Program):
    chore = add(world, repeat="FREQ=DAILY")
    chores.mark(
        world.by, source=f"own:{chore.pk}/own_chore", due=TODAY, round="morning", title="Oil the door"
    )

    reply = program.patch(f"/chores/{chore.pk}/", {"repeat": "FREQ=WEEKLY"}, If_Match="*")

    new = OwnChore.objects.exclude(pk=chore.pk).get()
    assert (reply.json()["id"], reply["Location"]) == (new.pk, f"/api/v1/chores/{new.pk}/")
    assert program.get(f"/chores/{chore.pk}/").json()["ended_on"] == "2026-05-02"


def test_what_was_ticked_is_ended_and_what_never_was_is_removed(world: World, program: Program):
    ticked, never = add(world), add(world, "Sweep")
    chores.mark(
        world.by, source=f"own:{ticked.pk}/own_chore", due=TODAY, round="morning", title="Oil the door"
    )

    assert program.delete(f"/chores/{ticked.pk}/", If_Match="*").status_code == 422
    assert program.post(f"/chores/{ticked.pk}/end/").json()["ended_on"] == "2026-05-01"
    assert program.delete(f"/chores/{never.pk}/").status_code == 428
    assert program.delete(f"/chores/{never.pk}/", If_Match=f'"9-{"0" * 16}"').status_code == 412
    assert program.delete(f"/chores/{never.pk}/", seen=program.get(f"/chores/{never.pk}/")).status_code == 204
    assert list(OwnChore.objects.all()) == [ticked]


def test_chores_are_listed_with_those_still_due_first(world: World, program: Program):
    add(world, "Zinc bath", start=day(3))
    over = add(world, "Attic")
    own_chores.end(world.by, chore_id=over.pk)

    def titles(query: str = "") -> list[str]:
        return [one["title"] for one in program.get(f"/chores/?{query}").json()["items"]]

    assert titles() == ["Zinc bath", "Attic"]
    assert titles("over=true") == ["Attic"]
    assert titles("limit=1") == ["Zinc bath"]


def test_everybody_reads_chores_and_keepers_write_them(world: World):
    chore = add(world)
    child, reader = Session(world.add_member("Kim", "child")), Program(world.by, "read", "record")

    assert child.get(f"/chores/{chore.pk}/").status_code == 200
    for program in (child, reader):
        assert program.post("/chores/", NEW).status_code == 403
        assert program.patch(f"/chores/{chore.pk}/", {"minutes": 9}, If_Match="*").status_code == 403
        assert program.post(f"/chores/{chore.pk}/end/").status_code == 403
        assert program.delete(f"/chores/{chore.pk}/", If_Match="*").status_code == 403
    assert OwnChore.objects.get() == chore


def test_another_farms_chore_is_not_found(world: World, elsewhere: World):
    chore = add(world)
    theirs = Program(elsewhere.by)

    for reply in (
        theirs.get(f"/chores/{chore.pk}/"),
        theirs.patch(f"/chores/{chore.pk}/", {"minutes": 9}, If_Match="*"),
        theirs.post(f"/chores/{chore.pk}/end/"),
        theirs.delete(f"/chores/{chore.pk}/", If_Match="*"),
    ):
        assert reply.status_code == 404
    assert theirs.get("/chores/").json()["items"] == []
    chore.refresh_from_db()
    assert (chore.minutes, chore.ended_on) == (10, None)


def test_more_chores_take_no_more_queries(world: World, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/chores/").status_code == 200
        return len(seen)

    add(world, "First", housing_id=world.housing["Pen 1"].pk)
    queries()
    few = queries()
    for number in range(6):
        add(world, f"More {number}", housing_id=world.housing["Pen 1"].pk)

    assert queries() == few
