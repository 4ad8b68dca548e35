"""Plans over the API: proposed and polled, tried with changes, compared, adopted once by who saw the newest."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Batch, HistoryEntry, Plan
from farm.services import counts, housings, plans, solving
from tests.api.api_world import Program, wrong
from tests.conftest import TODAY, World
from tests.farm.plan_cases import Ticking, crowded, day, lived, solved

ADD = {"add_batch": {"programme": "quail_layer", "birds": 30, "day": "2026-05-22"}}


def propose(program: Program, **body: Any) -> dict[str, Any]:
    reply = program.post("/plans/", body)
    assert reply.status_code == 202, reply.content
    return reply.json()


def test_a_proposed_plan_is_accepted_and_told_of_at_its_address(world: World, program: Program):
    crowded(world)

    reply = program.post("/plans/", {})

    plan = Plan.objects.get()
    assert (reply.status_code, reply["Location"]) == (202, f"/api/v1/plans/{plan.code}/")
    shown = program.get(f"/plans/{plan.code}/").json()
    assert shown == reply.json()
    assert (shown["state"], shown["iteration"], shown["cost"], shown["gap"]) == ("waiting", 0, None, None)
    assert (shown["made_by"], shown["reason"]) == ("Ada", "Everything planned anew")


def test_a_ready_plan_says_what_it_moves_and_that_nothing_is_short(world: World, program: Program):
    crowded(world)
    short = program.get("/shortfalls/").json()["items"]
    plan = solved(world)

    shown = program.get(f"/plans/{plan.code}/").json()

    assert {one["kind"] for one in short} == {"room"}
    assert (shown["state"], shown["shortfalls"]) == ("ready", [])
    assert shown["moves"]
    assert all(move.startswith("Reds: 40 ") for move in shown["moves"])
    assert shown["bill"]["room"] == 0 < shown["bill_now"]["room"]
    assert shown["cost"] >= shown["bound"] >= 0
    assert shown["gap"] == pytest.approx((shown["cost"] - shown["bound"]) / shown["cost"])


def test_a_shortfall_names_housing_batches_days_and_how_much(world: World, program: Program):
    crowded(world)

    (first, *_rest) = program.get("/shortfalls/").json()["items"]

    assert first["housing"] == {
        "key": str(world.housing["Brooder 2"].pk),
        "id": world.housing["Brooder 2"].pk,
        "name": "Brooder 2",
    }
    assert [batch["name"] for batch in first["batches"]] == ["Reds"]
    assert first["measure"] == "m² of floor"
    assert first["start"] <= first["worst_day"] < first["end"]
    assert first["short"] > 0
    assert "Brooder 2" in first["sentence"]


def test_a_way_out_can_be_tried_and_is_ready_at_once(world: World, program: Program):
    crowded(world)
    (short, *_rest) = program.get("/shortfalls/").json()["items"]

    asked = f"kind={short['kind']}&housing={short['housing']['key']}&day={short['worst_day']}"
    found = program.get(f"/shortfalls/ways-out/?{asked}").json()
    made = propose(program, offer=found["ways"][0]["offer"])

    assert found["shortfall"] == short
    assert (found["nothing_helps"], found["hurried"]) == (False, False)
    assert made["state"] == "ready"


def test_a_shortfall_that_is_not_there_is_not_found(world: World, program: Program):
    crowded(world)

    assert program.get("/shortfalls/ways-out/?kind=heat&day=2026-05-03").status_code == 404


def test_an_offer_of_another_farm_is_refused(elsewhere: World, world: World, program: Program):
    elsewhere.add_housing("Theirs", area_m2=2.0)
    elsewhere.add_batch("Blues", housing="Theirs")
    theirs = Program(elsewhere.by)
    (short, *_rest) = theirs.get("/shortfalls/").json()["items"]
    asked = f"kind=room&housing={short['housing']['key']}&day={short['worst_day']}"
    offer = theirs.get(f"/shortfalls/ways-out/?{asked}").json()["ways"][0]["offer"]

    reply = program.post("/plans/", {"offer": offer})

    assert (reply.status_code, list(wrong(reply))) == (422, ["#/offer"])
    assert not Plan.objects.exists()


def test_a_change_is_tried_and_another_on_top_of_it(world: World, program: Program):
    reds = world.add_batch("Reds", housing="Brooder 1")

    first = propose(program, changes=[ADD])
    second = propose(
        program, on=first["code"], changes=[{"change_birds": {"batch": str(reds.pk), "birds": 50}}]
    )

    assert first["changes"] == ["Add 30 birds (Laying quail), arriving on 22 May"]
    assert second["changes"] == [*first["changes"], "Reds are 50 birds"]
    assert second["kind"] == "trial"
    assert program.get(f"/plans/{first['code']}/").json()["state"] == "dropped"
    assert Batch.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({}, "#/changes/0"),
        (ADD | {"change_birds": {"batch": "1", "birds": 3}}, "#/changes/0"),
        ({"add_batch": None}, "#/changes/0"),
        ({"add_batch": ADD["add_batch"] | {"birds": 0}}, "#/changes/0/add_batch/birds"),
        ({"add_batch": ADD["add_batch"] | {"day": "2026-04-30"}}, "#/changes/0/add_batch/day"),
        ({"add_batch": ADD["add_batch"] | {"day": "2028-05-01"}}, "#/changes/0/add_batch/day"),
        ({"add_batch": ADD["add_batch"] | {"leaves": "2026-05-22"}}, "#/changes/0/add_batch/leaves"),
        ({"change_birds": {"batch": "999999", "birds": 3}}, "#/changes/0/change_birds/batch"),
        ({"lose_housing": {"housing": "nowhere", "start": "2026-05-09"}}, "#/changes/0/lose_housing/housing"),
        (
            {"add_housing": {"name": "Shed", "kind": "castle", "area_m2": 3}},
            "#/changes/0/add_housing/kind",
        ),
    ],
)
def test_a_change_that_makes_no_sense_is_refused_at_its_field(
    world: World, program: Program, change: dict[str, Any], pointer: str
):
    world.add_batch("Reds", housing="Brooder 1")

    reply = program.post("/plans/", {"changes": [change]})

    assert (reply.status_code, list(wrong(reply))) == (422, [pointer])
    assert not Plan.objects.exists()


def test_every_kind_of_change_is_taken(world: World, program: Program):
    here = world.add_batch("Reds", housing="Brooder 1")
    coming = world.add_batch("Blues", hatch_day=day(20), housing="Brooder 2")
    pen = str(world.housing["Pen 1"].pk)

    made = propose(
        program,
        changes=[
            ADD,
            {"move_arrival": {"batch": str(coming.pk), "day": "2026-05-25"}},
            {"change_birds": {"batch": str(coming.pk), "birds": 45}},
            {"add_housing": {"name": "Shed", "kind": "coop", "area_m2": 8, "start": "2026-05-10"}},
            {"lose_housing": {"housing": pen, "start": "2026-07-01", "end": "2026-07-10"}},
            {
                "pin_stay": {
                    "batch": str(here.pk),
                    "housing": str(world.housing["Brooder 1"].pk),
                    "start": "2026-05-02",
                    "end": "2026-05-12",
                }
            },
            {"forbid_housing": {"batch": str(here.pk), "housing": "new::1"}},
        ],
    )

    assert made["changes"][1:] == [
        "Blues arrive on 25 May",
        "Blues are 45 birds",
        "Add housing: Shed, 8.00 m², from 10 May",
        "Pen 1 is out of use from 1 July to 9 July",
        "Reds stay in Brooder 1 from 2 May to 11 May",
        "Reds stay out of Shed",
    ]
    assert len(made["not_kept"]) == 2


def test_a_plan_is_compared_with_what_is_planned_now(world: World, program: Program):
    crowded(world)
    world.add_batch("Calm", birds=5, age=200, arrived_on=TODAY, housing="Pen 1")
    plan = solved(world)

    page = program.get(f"/plans/{plan.code}/comparison/").json()
    whole = program.get(f"/plans/{plan.code}/comparison/?all=true").json()

    (reds,) = page["items"]
    assert reds["batch"]["name"] == "Reds"
    assert [stay["housing"]["name"] for stay in reds["now"]] == ["Brooder 2"]
    assert len(reds["then"]) > 1
    assert reds["then"][0]["start"] == "2026-05-01"
    assert {one["batch"]["name"]: one["differs"] for one in whole["items"]} == {"Reds": True, "Calm": False}


def test_a_plan_still_waiting_has_nothing_to_compare(world: World, program: Program):
    crowded(world)
    code = propose(program)["code"]

    assert program.get(f"/plans/{code}/comparison/").json() == {"items": [], "next": None}
    assert program.get(f"/plans/{code}/ways-out/?kind=room&day=2026-05-03").status_code == 404


def test_ways_out_of_a_plan_come_on_top_of_its_own_changes(world: World, program: Program):
    reds = world.add_batch("Reds", housing="Pen 1", age=60, arrived_on=TODAY)
    plan = propose(program, changes=[{"change_birds": {"batch": str(reds.pk), "birds": 400}}])
    row = Plan.objects.get(code=plan["code"])
    solving.run(plan_id=row.pk, now=Ticking(), iterations=20)
    (short, *_rest) = program.get(f"/plans/{row.code}/").json()["shortfalls"]

    place = "" if short["housing"] is None else f"&housing={short['housing']['key']}"
    found = program.get(
        f"/plans/{row.code}/ways-out/?kind={short['kind']}&day={short['start']}{place}"
    ).json()

    made = propose(program, offer=found["ways"][0]["offer"])
    assert made["changes"][0] == plan["changes"][0]
    assert len(made["changes"]) == 2


def test_a_plan_is_worked_out_on_the_spot_when_asked(world: World, program: Program):
    crowded(world)
    code = propose(program)["code"]

    assert program.post(f"/plans/{code}/now/").json()["state"] == "ready"


def test_stopping_and_dropping_change_nothing_of_the_farm(world: World, program: Program):
    crowded(world)
    before = lived(world)
    stopped, dropped = propose(program)["code"], solved(world).code

    assert program.post(f"/plans/{stopped}/stop/").json()["state"] == "dropped"
    assert program.post(f"/plans/{dropped}/drop/").json()["state"] == "dropped"
    assert lived(world) == before


def test_a_proof_can_be_asked_for_only_of_a_ready_plan(world: World, program: Program):
    crowded(world)
    waiting, ready = propose(program)["code"], solved(world).code

    assert program.post(f"/plans/{waiting}/prove/").status_code == 422
    assert program.post(f"/plans/{ready}/prove/").json()["proof"] == "asked"


def test_adopting_writes_the_stays_in_one_line_of_history(world: World, program: Program):
    crowded(world)
    plan = solved(world)
    before = lived(world)

    reply = program.post(f"/plans/{plan.code}/adopt/", {"version": plan.version})

    assert reply.status_code == 200
    assert reply.json()["plan"]["state"] == "adopted"
    entry = HistoryEntry.objects.get(pk=reply.json()["history_id"])
    assert (entry.verb, entry.face) == ("adopt plan", "api")
    assert lived(world) != before


def test_a_plan_that_was_worked_out_anew_is_not_adopted_unseen(world: World, program: Program):
    crowded(world)
    plan = solved(world)
    before = lived(world)

    reply = program.post(f"/plans/{plan.code}/adopt/", {"version": plan.version + 1})

    assert reply.status_code == 409
    assert lived(world) == before


def test_what_changed_since_the_plan_is_said_and_nothing_written(world: World, program: Program):
    crowded(world)
    plan = solved(world)
    counts.add(world.by, batch_id=Batch.objects.get().pk, kind="died", birds=1, day=TODAY)
    before = lived(world)

    shown = program.get(f"/plans/{plan.code}/").json()
    reply = program.post(f"/plans/{plan.code}/adopt/", {"version": plan.version})

    assert len(shown["changed_since"]) == 1
    assert (reply.status_code, reply.json()["changes"]) == (409, shown["changed_since"])
    assert lived(world) == before


def test_plans_are_for_keepers_and_for_tokens_that_may_write(world: World, program: Program):
    crowded(world)
    plan = solved(world)
    helper = Program(world.add_member("Hans", "helper"))
    reader = Program(world.by, "read")

    assert helper.get("/plans/").status_code == 403
    assert helper.get(f"/plans/{plan.code}/").status_code == 403
    assert helper.get("/shortfalls/").status_code == 403
    assert reader.get(f"/plans/{plan.code}/").status_code == 200
    assert reader.post("/plans/", {}).status_code == 403
    assert reader.post(f"/plans/{plan.code}/adopt/", {"version": plan.version}).status_code == 403
    assert Plan.objects.count() == 1


def test_another_farms_plan_is_not_found(world: World, elsewhere: World):
    crowded(world)
    plan = solved(world)
    theirs = Program(elsewhere.by)

    for reply in (
        theirs.get(f"/plans/{plan.code}/"),
        theirs.get(f"/plans/{plan.code}/comparison/"),
        theirs.get(f"/plans/{plan.code}/ways-out/?kind=room&day=2026-05-03"),
        *(theirs.post(f"/plans/{plan.code}/{verb}/") for verb in ("now", "stop", "drop", "prove")),
        theirs.post(f"/plans/{plan.code}/adopt/", {"version": plan.version}),
        theirs.post("/plans/", {"on": plan.code, "changes": [ADD]}),
    ):
        assert reply.status_code == 404
    assert theirs.get("/plans/").json()["items"] == []
    plan.refresh_from_db()
    assert plan.state == "ready"


def test_another_farms_housing_in_a_change_is_refused(world: World, elsewhere: World, program: Program):
    theirs = housings.add(elsewhere.by, name="Theirs", kind="brooder", area_m2=9.0, heated=True)
    reds = world.add_batch("Reds", housing="Brooder 1")

    change = {"forbid_housing": {"batch": str(reds.pk), "housing": str(theirs.pk)}}
    reply = program.post("/plans/", {"changes": [change]})

    assert list(wrong(reply)) == ["#/changes/0/forbid_housing/housing"]
    assert not Plan.objects.exists()


def test_plans_are_listed_newest_first_and_by_state(world: World, program: Program):
    crowded(world)
    codes = [plans.propose(world.by).code for _number in range(3)]
    program.post(f"/plans/{codes[1]}/drop/")

    first = program.get("/plans/?limit=2").json()
    rest = program.get(f"/plans/?limit=2&cursor={first['next']}").json()

    assert [plan["code"] for plan in first["items"] + rest["items"]] == codes[::-1]
    assert [plan["code"] for plan in program.get("/plans/?state=dropped").json()["items"]] == [codes[1]]
    assert program.get("/plans/?kind=trial").json()["items"] == []


def test_more_plans_take_no_more_queries(world: World, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/plans/").status_code == 200
        return len(seen)

    crowded(world)
    plans.propose(world.by)
    queries()
    few = queries()
    for _number in range(6):
        plans.propose(world.by)

    assert queries() == few
