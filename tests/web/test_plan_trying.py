"""Trials: every kind of change tried, added to and taken out again, and nothing saved."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, Plan, Stay
from farm.models.plan import PlanState
from farm.services import plans
from tests.conftest import NOON, TODAY, World
from tests.web.plan_pages import quail, ready, tried, words


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks, 14 days old, in Brooder 1 until they go to the pen on 1 June."""
    return world.add_batch("Browns", housing="Brooder 1", housing_until=TODAY + timedelta(days=31))


def test_trying_saves_nothing_on_the_farm(seen: Client, browns: Batch):
    before = list(Stay.objects.values())

    plan = ready(seen, tried(seen, **quail()))
    seen.get(f"/plan/{plan.code}/")

    assert list(Stay.objects.values()) == before
    assert Batch.objects.count() == 1


def test_every_kind_of_change_can_be_tried(seen: Client, world: World, browns: Batch):
    later = world.add_batch("Later", age=-30)
    room, pen = world.housing["Brooder 2"].pk, world.housing["Pen 1"].pk
    forms: list[tuple[dict[str, object], str]] = [
        (dict(quail()), "Add 30 birds (Laying quail), arriving on 22 May"),
        ({"kind": "move_arrival", "batch": later.pk, "day": "2026-07-01"}, "Later arrive on 1 July"),
        ({"kind": "change_birds", "batch": browns.pk, "birds": 12}, "Browns are 12 birds"),
        (
            {"kind": "add_housing", "name": "Shed", "what": "pen", "area_m2": "6.5", "start": "2026-06-01"},
            "Add housing: Shed, 6.50 m², from 1 June",
        ),
        (
            {"kind": "lose_housing", "housing": room, "start": "2026-06-01", "end": "2026-07-01"},
            "Brooder 2 is out of use from 1 June to 30 June",
        ),
        (
            {
                "kind": "pin_stay",
                "batch": browns.pk,
                "housing": pen,
                "start": "2026-07-01",
                "end": "2026-08-01",
            },
            "Browns stay in Pen 1 from 1 July to 31 July",
        ),
        ({"kind": "forbid_housing", "batch": browns.pk, "housing": room}, "Browns stay out of Brooder 2"),
    ]

    for fields, sentence in forms:
        plan = tried(seen, **fields)
        assert sentence in words(seen.get(f"/plan/{plan.code}/"))
        assert plan.kind == "trial"


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        (quail(birds="0"), "birds"),
        (quail(birds=""), "birds"),
        (quail(day="2026-04-01"), "day"),
        (quail(day="soon"), "day"),
        (quail(type="dodo"), "type"),
        (quail(leaves="2026-05-22"), "leaves"),
        ({"kind": "move_arrival", "batch": "999", "day": "2026-05-09"}, "batch"),
        ({"kind": "add_housing", "name": "", "what": "pen", "area_m2": "4"}, "name"),
        ({"kind": "add_housing", "name": "Shed", "what": "pen", "area_m2": "0"}, "area_m2"),
        (
            {"kind": "lose_housing", "housing": "1", "start": "2026-06-01", "end": "2026-06-01"},
            "end",
        ),
        ({"kind": "lose_housing", "housing": "", "start": "2026-06-01"}, "housing"),
    ],
)  # fmt: skip
def test_a_mistaken_change_is_told_at_its_field_and_keeps_what_was_typed(
    seen: Client, world: World, browns: Batch, fields: dict[str, str], field: str
):
    fields = {
        name: str(world.housing["Brooder 2"].pk) if text == "1" else text for name, text in fields.items()
    }
    answer = seen.post("/plan/try/", fields)

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"].data["kind"] == fields["kind"]
    assert Plan.objects.count() == 0


def test_a_kind_nobody_knows_leads_back(seen: Client):
    assert seen.post("/plan/try/", {"kind": "sell_farm"})["Location"] == "/plan/"
    assert Plan.objects.count() == 0


def test_a_change_is_added_to_a_trial_and_taken_out_again(seen: Client, world: World, browns: Batch):
    first = ready(seen, tried(seen, **quail()))

    answer = seen.post(f"/plan/{first.code}/try/", {"kind": "change_birds", "batch": browns.pk, "birds": 10})
    second = Plan.objects.get(code=answer["Location"].split("/")[2])
    assert [change["kind"] for change in second.changes] == ["add_batch", "change_birds"]
    answer = seen.post(f"/plan/{second.code}/without/", {"change": "0"})
    third = Plan.objects.get(code=answer["Location"].split("/")[2])

    assert [change["kind"] for change in third.changes] == ["change_birds"]
    second.refresh_from_db()
    assert second.state == PlanState.DROPPED  # nobody waits for it any more


def test_a_trials_own_batch_can_be_changed_further(seen: Client, browns: Batch):
    first = ready(seen, tried(seen, **quail()))
    key = first.changes[0]["batch"]["key"]

    answer = seen.post(
        f"/plan/{first.code}/try/", {"kind": "move_arrival", "batch": key, "day": "2026-05-29"}
    )

    assert "Laying quail arrive on 29 May" in words(seen.get(answer["Location"]))


def test_a_trial_is_a_link_that_other_keepers_of_the_farm_can_open(seen: Client, world: World, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    other = Client()
    other.force_login(world.add_member("Jonas", "keeper").login)

    assert other.get(f"/plan/{plan.code}/").status_code == 200


def test_another_farms_plans_are_not_found(seen: Client, world: World, elsewhere: World):
    elsewhere.add_housing("Shed")
    elsewhere.add_batch("Secret", housing="Shed")
    theirs = plans.propose(elsewhere.by)

    for part in ("", "ways/"):
        assert seen.get(f"/plan/{theirs.code}/{part}").status_code == 404
    for verb in ("adopt", "drop", "stop", "now", "again", "try", "without"):
        assert seen.post(f"/plan/{theirs.code}/{verb}/").status_code == 404
    theirs.refresh_from_db()
    assert (theirs.state, Plan.objects.count()) == (PlanState.WAITING, 1)


def test_no_more_is_tried_at_once_than_a_page_can_hold(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, kind="change_birds", batch=browns.pk, birds=39))
    Plan.objects.filter(pk=plan.pk).update(changes=plan.changes * 12)

    answer = seen.post(f"/plan/{plan.code}/try/", {"kind": "change_birds", "batch": browns.pk, "birds": 5})

    assert answer.status_code == 422
    assert "too much at once" in words(answer)
