"""Swaps over the API: offered, agreed to, refused, taken back, and seen by whom they concern."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Swap
from farm.services import rota
from tests.api.api_session import Session
from tests.api.api_world import Program, wrong
from tests.conftest import World
from tests.farm.rota_world import doing, with_turns

MORNING, EVENING = {"day": "2026-05-02", "round": "morning"}, {"day": "2026-05-03", "round": "evening"}


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test here needs the best rota there is."""
    monkeypatch.setattr(rota, "STEPS", 2_000)


@pytest.fixture
def who(world: World):
    return with_turns(world)


def offered(who, taker: str = "Ada", **changed: Any) -> Any:
    """Return Ben's offer of tomorrow's morning for Ada's evening, or as `changed` says."""
    asked = {"taker_id": who[taker].member.pk, "give": MORNING, "take": EVENING} | changed
    return Program(who["Ben"]).post("/swaps/", asked)


def test_a_swap_is_offered_and_agreed_to_and_the_rounds_change_hands(world: World, who, program: Program):
    made = offered(who)

    assert (made.status_code, made["Location"]) == (201, f"/api/v1/swaps/{made.json()['id']}/")
    assert made.json() | {"id": 0, "offered_at": ""} == {
        "id": 0,
        "giver_id": who["Ben"].member.pk,
        "giver": "Ben",
        "taker_id": world.keeper.pk,
        "taker": "Ada",
        "give": MORNING,
        "take": EVENING,
        "state": "offered",
        "offered_at": "",
        "answered_at": None,
    }
    agreed = program.post(f"/swaps/{made.json()['id']}/accept/").json()
    assert agreed["swap"]["state"] == "accepted"
    assert agreed["swap"] == program.get(f"/swaps/{made.json()['id']}/").json()
    assert doing(world, 1, "morning") == {(world.keeper.pk,)}
    assert doing(world, 2, "evening") == {(who["Ben"].member.pk,)}


def test_a_round_may_be_offered_for_nothing_and_refused_or_taken_back(world: World, who, program: Program):
    first, second = offered(who, take=None).json()["id"], offered(who, "Dora", take=None).json()["id"]

    assert program.post(f"/swaps/{first}/decline/").json()["state"] == "declined"
    assert Program(who["Ben"]).post(f"/swaps/{second}/withdraw/").json()["state"] == "withdrawn"
    assert program.post(f"/swaps/{first}/accept/").status_code == 422
    assert doing(world, 1, "morning") == {(who["Ben"].member.pk,)}


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"give": {"day": "2026-04-01", "round": "morning"}}, "#/give"),
        ({"give": {"day": "2026-05-02", "round": "night"}}, "#/give/round"),
        ({"take": MORNING}, "#/take"),
        ({"give": {"day": "2027-05-02", "round": "morning"}}, "#/give"),
    ],
)
def test_what_can_not_be_swapped_is_refused_at_its_field(who, changed: dict[str, Any], field: str):
    reply = offered(who, **changed)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not Swap.objects.exists()


def test_nobody_swaps_with_themselves(who):
    assert list(wrong(offered(who, "Ben"))) == ["#/taker_id"]
    assert not Swap.objects.exists()


def test_swaps_are_seen_by_those_they_concern_and_by_keepers(world: World, who, program: Program):
    made = offered(who).json()["id"]

    def seen(by: Program) -> list[int]:
        return [one["id"] for one in by.get("/swaps/").json()["items"]]

    assert seen(program) == seen(Program(who["Ben"])) == [made]
    for stranger in (Session(who["Cara"]), Program(who["Dora"])):
        assert seen(stranger) == []
        assert stranger.get(f"/swaps/{made}/").status_code == 404
        assert stranger.post(f"/swaps/{made}/accept/").status_code == 403
    assert Program(world.by, "read").post(f"/swaps/{made}/accept/").status_code == 403
    assert Swap.objects.get().state == "offered"


def test_swaps_are_filtered(who, program: Program):
    first, second = offered(who).json()["id"], offered(who, "Dora", take=None).json()["id"]
    program.post(f"/swaps/{first}/decline/")

    def ids(query: str) -> list[int]:
        return [one["id"] for one in program.get(f"/swaps/?{query}").json()["items"]]

    assert ids("state=offered") == [second]
    assert ids(f"member={who['Dora'].member.pk}") == [second]
    assert ids("limit=1") == [first]


def test_another_farms_swap_and_people_are_not_found(who, elsewhere: World):
    made = offered(who).json()["id"]
    theirs = Program(elsewhere.by)

    assert offered(who, taker_id=elsewhere.keeper.pk).status_code == 404
    assert theirs.get(f"/swaps/{made}/").status_code == 404
    for verb in ("accept", "decline", "withdraw"):
        assert theirs.post(f"/swaps/{made}/{verb}/").status_code == 404
    assert theirs.get("/swaps/").json()["items"] == []
    assert Swap.objects.get().state == "offered"


def test_more_swaps_take_no_more_queries(who, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/swaps/").status_code == 200
        return len(seen)

    offered(who)
    queries()
    few = queries()
    offered(who, "Dora", take=None)
    offered(who, "Dora", take=None, give={"day": "2026-05-02", "round": "morning"})

    assert queries() == few
