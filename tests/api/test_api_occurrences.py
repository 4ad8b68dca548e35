"""The agenda over the API: what is due, ticked once under a key, left out with a reason, put off and brought back."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import ChoreMark, HistoryEntry, Postponement
from farm.services import batches, own_chores, rota
from tests.api.api_session import Session
from tests.api.api_world import Program, wrong
from tests.conftest import TODAY, World
from tests.farm.plan_cases import day


def listed(program: Program, query: str = "") -> list[dict[str, Any]]:
    reply = program.get(f"/occurrences/?limit=200&{query}")
    assert reply.status_code == 200, reply.content
    return reply.json()["items"]


def named(found: list[dict[str, Any]]) -> dict[str, Any]:
    """Return what identifies the first of some occurrences."""
    return {name: found[0][name] for name in ("source", "due", "round")}


def a_chore(program: Program, job: str = "feed_water") -> dict[str, Any]:
    return next(one for one in listed(program) if one["job"] == job)


def own(world: World, **fields: Any) -> dict[str, Any]:
    """Return what identifies today's occurrence of a chore of the keeper's own."""
    made = own_chores.add(world.by, **({"title": "Oil the door", "start": TODAY} | fields))
    return {"source": f"own:{made.pk}/own_chore", "due": TODAY.isoformat(), "round": made.round}


def test_todays_agenda_says_what_where_why_and_who_may(world: World, program: Program):
    batch = world.add_batch("Wrens", housing="Brooder 1")

    one = a_chore(program)

    assert one["due"] == one["do_on"] == "2026-05-01"
    assert (one["housing_id"], one["place"]) == (world.housing["Brooder 1"].pk, "Brooder 1")
    assert one["batch_ids"] == [batch.pk]
    assert one["title"].startswith("Brooder 1: ")
    assert one["why"]
    assert one["minutes"] > 0
    assert (one["kind"], one["mark"], one["put_off"], one["late"]) == ("chore", None, None, False)
    assert (one["may_tick"], one["care"]) == (True, True)


def test_a_tick_says_who_did_it_and_when(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")
    one = a_chore(program)

    shown = program.post("/occurrences/tick/", named([one]) | {"note": "two drinkers"}).json()

    assert shown["id"] == one["id"]
    assert shown["mark"] == {
        "state": "done",
        "note": "two drinkers",
        "minutes": one["minutes"],
        "member_id": world.keeper.pk,
        "member": "Ada",
        "at": "2026-05-01T10:00:00Z",
        "photo_id": None,
    }
    assert shown == a_chore(program)
    assert HistoryEntry.objects.get(verb="tick").face == "api"


def test_the_same_key_gets_the_same_answer_and_ticks_once(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")
    tick = named([a_chore(program)]) | {"key": "phone-1", "minutes": 3}

    first = program.post("/occurrences/tick/", tick)
    again = program.post("/occurrences/tick/", tick | {"note": "late"})

    assert first.json() == again.json()
    assert again.json()["mark"]["minutes"] == 3
    assert ChoreMark.objects.count() == 1


def test_a_key_stands_for_its_first_tick_whatever_is_sent_with_it_later(world: World, program: Program):
    batch = world.add_batch("Wrens", age=13, housing="Brooder 1")
    step = next(one for one in listed(program, "from=2026-05-02&to=2026-05-09") if one["kind"] == "step")
    program.post("/occurrences/tick/", named([step]) | {"key": "1"})
    batches.change(world.by, batch_id=batch.pk, expected_version=None, hatch_day=day(-40))

    for sent in (named([step]), own(world)):
        shown = program.post("/occurrences/tick/", sent | {"key": "1"}).json()
        assert (shown["source"], shown["kind"], shown["mark"]["member"]) == (step["source"], "gone", "Ada")
    assert ChoreMark.objects.count() == 1


def test_another_members_same_key_is_another_key(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")
    hal = Program(world.add_member("Hal", "helper"))
    ticked, other = named([a_chore(program)]), own(world)
    program.post("/occurrences/tick/", ticked | {"key": "1"})

    shown = hal.post("/occurrences/tick/", other | {"key": "1"}).json()

    assert (shown["source"], shown["mark"]["member"]) == (other["source"], "Hal")


def test_a_second_tick_leaves_the_first_and_adds_its_note(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")
    ticked = named([a_chore(program)])
    program.post("/occurrences/tick/", ticked | {"note": "one"})

    shown = (
        Program(world.add_member("Hal", "helper")).post("/occurrences/tick/", ticked | {"note": "two"}).json()
    )

    assert (shown["mark"]["member"], shown["mark"]["note"]) == ("Ada", "one\ntwo")


def test_an_opened_occurrence_has_no_mark(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")
    ticked = named([a_chore(program)])
    program.post("/occurrences/tick/", ticked)

    assert program.post("/occurrences/untick/", ticked).json()["mark"] is None
    assert not ChoreMark.objects.exists()


def test_what_is_left_out_needs_a_reason_and_what_asks_for_a_note_needs_one(world: World, program: Program):
    noted = own(world, asks="note")

    for tick in (noted, noted | {"state": "skipped"}):
        reply = program.post("/occurrences/tick/", tick)
        assert (reply.status_code, list(wrong(reply))) == (422, ["#/note"])
    assert not ChoreMark.objects.exists()
    shown = program.post("/occurrences/tick/", noted | {"state": "skipped", "note": "no oil"}).json()
    assert (shown["mark"]["state"], shown["mark"]["note"]) == ("skipped", "no oil")


@pytest.mark.parametrize(
    "changed", [{"source": "room:999999/feed_water"}, {"due": "2025-01-01"}, {"source": "?"}]
)
def test_what_is_in_no_agenda_is_not_found(world: World, program: Program, changed: dict[str, Any]):
    world.add_batch("Wrens", housing="Brooder 1")
    asked = named([a_chore(program)]) | changed

    for verb in ("tick", "untick", "bring-back"):
        assert program.post(f"/occurrences/{verb}/", asked).status_code == 404
    assert not ChoreMark.objects.exists()


def test_too_far_ahead_is_not_ticked(world: World, program: Program):
    ahead = own(world, start=day(20)) | {"due": day(20).isoformat()}

    reply = program.post("/occurrences/tick/", ahead)

    assert list(wrong(reply)) == ["#/due"]
    assert not ChoreMark.objects.exists()


def test_put_off_it_stays_the_same_and_comes_back(world: World, program: Program):
    one = own(world)

    moved = program.post(
        "/occurrences/put-off/", one | {"to_due": day(2).isoformat(), "to_round": "evening", "reason": "rain"}
    ).json()

    assert (moved["due"], moved["do_on"], moved["do_in"]) == ("2026-05-01", "2026-05-03", "evening")
    assert moved["put_off"] == {"member_id": world.keeper.pk, "member": "Ada", "reason": "rain"}
    assert one["source"] not in [each["source"] for each in listed(program)]
    assert [each["id"] for each in listed(program, "from=2026-05-03")] == [moved["id"]]
    back = program.post("/occurrences/bring-back/", one).json()
    assert (back["do_on"], back["put_off"]) == ("2026-05-01", None)


@pytest.mark.parametrize(
    ("to", "field"),
    [
        ({"to_due": "2026-04-30"}, "#/to_due"),
        ({"to_due": "2026-05-30"}, "#/to_due"),
        ({"to_round": "night"}, "#/to_round"),
    ],
)
def test_what_can_not_be_put_off_so_is_refused_at_its_field(
    world: World, program: Program, to: dict[str, Any], field: str
):
    asked = own(world) | {"to_due": "2026-05-02", "to_round": "morning"} | to

    reply = program.post("/occurrences/put-off/", asked)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not Postponement.objects.exists()


def test_occurrences_are_filtered(world: World, program: Program):
    wrens = world.add_batch("Wrens", housing="Brooder 1")
    world.add_batch("Robins", housing="Brooder 2")
    whole = listed(program)
    program.post("/occurrences/tick/", named(whole))

    of_batch, there = listed(program, f"batch={wrens.pk}"), world.housing["Brooder 2"].pk
    assert 0 < len(of_batch) < len(whole)
    assert all(wrens.pk in one["batch_ids"] for one in of_batch)
    assert {one["place"] for one in listed(program, f"housing={there}")} == {"Brooder 2"}
    assert {one["do_in"] for one in listed(program, "round=evening")} == {"evening"}
    assert [one["id"] for one in listed(program, "done=true")] == [whole[0]["id"]]
    assert len(listed(program, "done=false")) == len(whole) - 1


def test_a_member_is_shown_what_the_rota_gives_them_and_without_one_what_they_may_do(
    world: World, program: Program
):
    world.add_batch("Wrens", housing="Brooder 1")
    hal = world.add_member("Hal", "helper").member
    oil = own(world)
    without = listed(program, f"member={hal.pk}")
    rota.start(world.by)
    rota.give(world.by, occurrences=[(oil["source"], TODAY, oil["round"])], member_id=hal.pk)

    given = listed(program, f"member={hal.pk}")

    assert {one["who"] for one in without} <= {"helper", "child"}
    assert len(without) > 1
    assert [(one["source"], one["member_ids"]) for one in given] == [(oil["source"], [hal.pk])]


def test_an_open_step_of_an_earlier_day_comes_first_and_is_late(world: World, program: Program):
    world.add_batch("Wrens", age=15, arrived_on=day(-10), housing="Brooder 1")

    found = listed(program)
    late = [one for one in found if one["late"]]

    assert late
    assert found[: len(late)] == late
    assert all(one["do_on"] < "2026-05-01" for one in late)


def test_pages_follow_one_another_and_fields_are_chosen(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")
    whole = [one["id"] for one in listed(program)]

    first = program.get("/occurrences/?limit=2&fields=title").json()
    second = program.get(f"/occurrences/?limit=2&fields=title&cursor={first['next']}").json()

    assert [one["id"] for one in first["items"] + second["items"]] == whole[:4]
    assert set(first["items"][0]) == {"id", "title"}


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("from=2026-05-02&to=2026-05-02", "to"),
        ("from=2026-05-02&to=2026-09-02", "to"),
        ("from=2030-05-02", "from"),
        ("round=night", "round"),
    ],
)
def test_days_out_of_reach_are_refused_at_their_parameter(program: Program, query: str, parameter: str):
    reply = program.get(f"/occurrences/?{query}")

    assert (reply.status_code, list(wrong(reply))) == (422, [parameter])


def test_a_child_ticks_only_what_children_may(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")
    child = Session(world.add_member("Kim", "child"))
    found = listed(child)
    grown, small = ([one for one in found if one["may_tick"] is may] for may in (False, True))

    assert child.post("/occurrences/tick/", named(grown)).status_code == 403
    assert not ChoreMark.objects.exists()
    assert child.post("/occurrences/tick/", named(small)).json()["mark"]["member"] == "Kim"


def test_a_token_that_may_only_read_ticks_nothing(world: World):
    one = own(world)

    assert Program(world.by, "read").post("/occurrences/tick/", one).status_code == 403
    assert Program(world.by, "record").get("/occurrences/").status_code == 403
    assert not ChoreMark.objects.exists()


def test_another_farms_occurrences_are_not_found(world: World, elsewhere: World):
    one = own(world)
    theirs = Program(elsewhere.by)

    assert listed(theirs) == []
    assert theirs.get(f"/occurrences/?member={world.keeper.pk}").status_code == 404
    for verb in ("tick", "untick", "bring-back"):
        assert theirs.post(f"/occurrences/{verb}/", one).status_code == 404
    moved = one | {"to_due": "2026-05-02", "to_round": "morning"}
    assert theirs.post("/occurrences/put-off/", moved).status_code == 404
    assert not ChoreMark.objects.exists()


def test_a_mark_whose_chore_is_gone_can_still_be_taken_back(world: World, program: Program):
    batch = world.add_batch("Wrens", age=13, housing="Brooder 1")
    step = next(one for one in listed(program, "from=2026-05-02&to=2026-05-09") if one["kind"] == "step")
    program.post("/occurrences/tick/", named([step]))
    batches.change(world.by, batch_id=batch.pk, expected_version=None, hatch_day=day(-40))

    shown = program.post("/occurrences/untick/", named([step])).json()

    assert (shown["kind"], shown["title"], shown["mark"]) == ("gone", step["title"], None)
    assert not ChoreMark.objects.exists()


def test_more_occurrences_take_no_more_queries(world: World, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            listed(program)
        return len(seen)

    def tick_one() -> None:
        program.post("/occurrences/tick/", named(listed(program, "done=false")))

    world.add_batch("First", housing="Brooder 1")
    tick_one()
    queries()
    few = queries()
    for number in range(4):
        world.add_housing(f"More {number}")
        world.add_batch(f"More {number}", housing=f"More {number}")
        tick_one()

    assert queries() == few
