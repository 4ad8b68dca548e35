"""The rota over the API: who does what, given and let go, how fair it is, and its rules."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Pin, RotaRules
from farm.services import rota
from tests.api.api_session import Session
from tests.api.api_world import Program, wrong
from tests.conftest import World
from tests.farm.rota_world import adult, begin, key, people, pins, rows


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test here needs the best rota there is."""
    monkeypatch.setattr(rota, "STEPS", 2_000)


@pytest.fixture
def who(world: World):
    """Ada, Ben and Cara with a rota of a week."""
    found = people(world)
    world.add_batch("Browns", housing="Brooder 1")
    begin(world)
    return found


def named(occurrence: tuple[Any, ...]) -> dict[str, str]:
    source, due, round = occurrence
    return {"source": source, "due": due.isoformat(), "round": round}


def listed(program: Program, query: str = "") -> list[dict[str, Any]]:
    reply = program.get(f"/rota/?limit=200&{query}")
    assert reply.status_code == 200, reply.content
    return reply.json()["items"]


def test_the_rota_says_who_does_what_as_it_stands(world: World, who, program: Program):
    given = {
        (one["source"], one["due"], one["round"]): tuple(doer["member_id"] for doer in one["doers"])
        for one in listed(program)
        if one["minutes"]
    }

    stored = {
        (source, due.isoformat(), round): members for (source, due, round), members in rows(world).items()
    }
    assert {one: members for one, members in given.items() if members} == stored
    assert stored


def test_a_window_may_be_longer_than_a_week_and_another_start(world: World, who, program: Program):
    found = listed(program, "from=2026-05-03&to=2026-05-05")

    assert {one["do_on"] for one in found} == {"2026-05-03", "2026-05-04"}
    assert max(one["do_on"] for one in listed(program, "to=2026-05-11")) == "2026-05-10"
    assert list(wrong(program.get("/rota/?to=2026-05-01"))) == ["to"]
    assert list(wrong(program.get("/rota/?to=2026-09-01"))) == ["to"]


def test_the_rota_is_filtered_by_member_and_by_what_lacks_hands(world: World, who, program: Program):
    ben = who["Ben"].member.pk
    for one in listed(program, f"member={ben}"):
        assert ben in [doer["member_id"] for doer in one["doers"]]
    world.add_batch("Robins", housing="Brooder 2")  # the rota knows nothing of them yet

    short = listed(program, "missing=true")

    assert {one["place"] for one in short} == {"Brooder 2"}
    assert all(one["missing"] == 1 for one in short)


def test_without_a_rota_nobody_is_given_anything(world: World, program: Program):
    world.add_batch("Browns", housing="Brooder 1")

    assert {(len(one["doers"]), one["missing"]) for one in listed(program)} == {(0, 0)}
    assert program.get("/rota/fairness/").json()["items"] == []
    assert program.get("/rota/rules/").status_code == 404


def test_what_is_given_is_decided_and_can_be_let_go(world: World, who, program: Program):
    look = key(world, "look", 2)
    (before,) = rows(world)[look]
    other = next(by.member for name, by in who.items() if by.member.pk != before and name != "Cara")

    reply = program.post("/rota/give/", {"occurrences": [named(look)], "member_id": other.pk})

    assert reply.json() == {"wishes": []}
    assert pins(world) == {(look, other.pk)}
    shown = next(one for one in listed(program) if (one["source"], one["due"]) == (look[0], "2026-05-03"))
    assert shown["doers"] == [{"member_id": other.pk, "member": other.name, "decided": True}]
    (pin,) = program.get(f"/rota/pins/?member={other.pk}").json()["items"]
    assert {name: pin[name] for name in named(look)} == named(look)
    assert program.post("/rota/let-go/", {"occurrences": [named(look)]}).json() == {"decisions": 1}
    assert program.get("/rota/pins/").json()["items"] == []


def test_what_a_member_may_not_do_is_refused_at_the_member(world: World, who, program: Program):
    heat = next(one for one in listed(program) if "heat" in one["source"] and one["minutes"])
    asked = {name: heat[name] for name in ("source", "due", "round")}

    reply = program.post("/rota/give/", {"occurrences": [asked], "member_id": who["Cara"].member.pk})

    assert (reply.status_code, list(wrong(reply))) == (422, ["#/member_id"])
    assert pins(world) == set()


def test_what_is_not_open_can_not_be_given(world: World, who, program: Program):
    gone = {"source": "room:999/look", "due": "2026-05-02", "round": "morning"}

    reply = program.post("/rota/give/", {"occurrences": [gone], "member_id": who["Ben"].member.pk})

    assert reply.status_code == 422
    assert list(wrong(program.post("/rota/give/", {"occurrences": [], "member_id": 1}))) == ["#/occurrences"]
    assert pins(world) == set()


def test_fairness_is_told_in_minutes(world: World, who, program: Program):
    found = program.get("/rota/fairness/").json()["items"]

    assert [one["member"] for one in found] == ["Ada", "Ben", "Cara"]
    whole = sum(one["planned_minutes"] for one in found)
    assert whole == sum(one["minutes"] * len(one["doers"]) for one in listed(program))
    for one in found:
        assert one["off_minutes"] == pytest.approx(
            one["done_minutes"] + one["planned_minutes"] - one["part_minutes"], abs=0.11
        )


def test_a_rota_is_begun_changed_and_ended(world: World, program: Program):
    people(world)
    world.add_batch("Browns", housing="Brooder 1")

    begun = program.post("/rota/rules/", {"weeks": 1, "fair_days": 14})
    seen = program.get("/rota/rules/")
    changed = program.patch("/rota/rules/", {"missed_after": 60}, seen=seen)

    assert (begun.status_code, begun["Location"]) == (201, "/api/v1/rota/rules/")
    assert rows(world)
    assert (changed.json()["weeks"], changed.json()["missed_after"]) == (1, 60)
    assert program.patch("/rota/rules/", {"missed_after": 70}, seen=seen).status_code == 412
    assert program.post("/rota/rules/", {}).status_code == 422
    assert program.post("/rota/stop/").status_code == 204
    assert not RotaRules.objects.exists()
    assert program.post("/rota/stop/").status_code == 404


def test_rules_out_of_reach_are_refused_at_their_field(world: World, program: Program):
    assert list(wrong(program.post("/rota/rules/", {"weeks": 9}))) == ["#/weeks"]
    assert not RotaRules.objects.exists()


def test_everybody_reads_the_rota_and_keepers_decide(world: World, who):
    look = named(key(world, "look", 2))
    for program in (Session(who["Cara"]), Program(who["Ben"]), Program(world.by, "read", "record")):
        assert program.get("/rota/").status_code == 200
        assert program.get("/rota/fairness/").status_code == 200
        asked = {"occurrences": [look], "member_id": who["Ben"].member.pk}
        assert program.post("/rota/give/", asked).status_code == 403
        assert program.post("/rota/let-go/", {"occurrences": [look]}).status_code == 403
        assert program.post("/rota/stop/").status_code == 403
        assert program.patch("/rota/rules/", {"weeks": 2}, If_Match="*").status_code == 403
    assert not Pin.objects.exists()


def test_another_farms_people_and_chores_are_out_of_reach(world: World, who, elsewhere: World):
    people_there = adult(elsewhere, "Zoe")
    elsewhere.add_housing("Theirs")
    elsewhere.add_batch("Blues", housing="Theirs")
    begin(elsewhere)
    theirs, ours = Program(elsewhere.by), Program(world.by)
    look = named(key(world, "look", 2))

    asked = {"occurrences": [look], "member_id": people_there.member.pk}
    assert ours.post("/rota/give/", asked).status_code == 404
    assert theirs.post("/rota/give/", asked).status_code == 422
    assert theirs.post("/rota/let-go/", {"occurrences": [look]}).json() == {"decisions": 0}
    assert {one["place"] for one in listed(theirs)} == {"Theirs"}
    assert not Pin.objects.exists()


def test_more_occurrences_and_pins_take_no_more_queries(world: World, who, program: Program):
    def queries(path: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get(path).status_code == 200
        return len(seen)

    ben = who["Ben"].member.pk
    rota.give(world.by, occurrences=[key(world, "look", 2)], member_id=ben)
    paths = ("/rota/?limit=200", "/rota/pins/", "/rota/fairness/")
    for path in paths:
        queries(path)
    few = [queries(path) for path in paths]
    world.add_batch("Robins", housing="Brooder 2")
    rota.give(world.by, occurrences=[key(world, "look", offset) for offset in range(3, 6)], member_id=ben)
    adult(world, "Dora")

    assert [queries(path) for path in paths] == few
