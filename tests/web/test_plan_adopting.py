"""Adopting a plan, taking it back, and what stands in its way."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, Plan, Stay
from farm.models.plan import PlanState
from farm.services import counts, history, plans
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


def test_adopting_writes_the_trial_and_its_page_leads_to_undo(seen: Client, world: World, browns: Batch):
    before = list(Stay.objects.order_by("pk").values("batch", "housing", "start", "end", "birds"))
    plan = ready(seen, tried(seen, **quail()))

    answer = seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version}, follow=True)

    plan.refresh_from_db()
    assert "This is the plan you follow" in words(answer)
    new = Batch.objects.get(name="Laying quail")
    assert (new.arrived_on.isoformat(), sum(new.stays.values_list("birds", flat=True)) >= 30) == (
        "2026-05-22",
        True,
    )
    assert f'href="/history/{plan.adoption.pk}/"' in answer.content.decode()
    seen.post(f"/history/{plan.adoption.pk}/undo/")
    assert not Batch.objects.filter(name="Laying quail").exists()
    assert list(Stay.objects.order_by("pk").values("batch", "housing", "start", "end", "birds")) == before
    assert "adopted and then taken back" in words(seen.get(f"/plan/{plan.code}/"))


def test_what_changed_meanwhile_is_shown_and_nothing_is_written(seen: Client, world: World, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=5, day=TODAY)
    before = list(Stay.objects.values())

    shown = seen.get(f"/plan/{plan.code}/")
    answer = seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version})

    assert "The farm was changed since this was worked out" in words(shown)
    assert answer.status_code == 409
    assert re.search(r"Ada: Browns: 5 birds died", words(answer))
    assert "Work it out again" in words(answer)
    assert list(Stay.objects.values()) == before
    assert Batch.objects.count() == 1


def test_working_it_out_again_takes_the_same_changes_to_the_farm_as_it_is(
    seen: Client, world: World, browns: Batch
):
    plan = ready(seen, tried(seen, **quail()))
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=5, day=TODAY)

    answer = seen.post(f"/plan/{plan.code}/again/")

    again = Plan.objects.get(code=answer["Location"].split("/")[2])
    assert again.changes == plan.changes
    assert again.problem != plan.problem


def test_a_plan_worked_out_anew_meanwhile_is_not_adopted_unseen(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))

    answer = seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version - 1})

    assert answer.status_code == 409
    assert Batch.objects.count() == 1


def test_a_plan_that_is_not_ready_is_not_adopted(seen: Client, browns: Batch):
    plan = tried(seen, **quail())

    answer = seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version})

    assert answer.status_code == 409
    assert "still being worked out" in words(answer)


def test_a_dropped_trial_says_so_and_can_be_worked_out_again(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))

    answer = seen.post(f"/plan/{plan.code}/drop/", follow=True)

    assert "Nothing on the farm was changed" in words(answer)
    assert "was put aside" in words(seen.get(f"/plan/{plan.code}/"))
    assert seen.post(f"/plan/{plan.code}/again/").status_code == 302


def test_an_adopted_plan_is_not_dropped(seen: Client, world: World, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    plans.adopt(world.by, plan_id=plan.pk, seen_version=plan.version)

    answer = seen.post(f"/plan/{plan.code}/drop/", follow=True)

    assert "This plan was adopted" in words(answer)
    plan.refresh_from_db()
    assert plan.state == PlanState.ADOPTED


def test_what_adopting_does_not_keep_is_said_before(seen: Client, world: World, browns: Batch):
    room = world.housing["Brooder 2"].pk
    plan = ready(seen, tried(seen, kind="lose_housing", housing=room, start="2026-06-01", end="2026-07-01"))

    assert "Remember this yourself" in words(seen.get(f"/plan/{plan.code}/"))


def test_an_adopted_plan_is_shown_alone(seen: Client, world: World, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    plans.adopt(world.by, plan_id=plan.pk, seen_version=plan.version)

    text = words(seen.get(f"/plan/{plan.code}/"))

    assert "With this trial" in text
    assert "As planned now" not in text


def test_a_number_adopted_and_taken_back_can_be_adopted_again(seen: Client, world: World):
    later = world.add_batch("Later", birds=40, age=-30)

    for birds in (25, 30):
        plan = ready(seen, tried(seen, kind="change_birds", batch=later.pk, birds=birds))
        assert seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version}).status_code == 302
        assert sum(later.count_entries.values_list("birds", flat=True)) == birds
        plan.refresh_from_db()
        seen.post(f"/history/{plan.adoption.pk}/undo/")
        assert sum(later.count_entries.values_list("birds", flat=True)) == 40


def test_a_plan_is_called_by_what_it_tries_in_lists_and_in_the_history(
    seen: Client, world: World, browns: Batch
):
    plan = ready(seen, tried(seen, **quail()))
    seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version})

    name = "Add 30 birds (Laying quail), arriving on 22 May"
    assert name in words(seen.get("/plan/"))
    assert f"Plan adopted: {name}" in words(seen.get("/history/"))


def test_trials_are_listed_with_who_made_them_and_what_became_of_them(
    seen: Client, world: World, browns: Batch
):
    plan = ready(seen, tried(seen, **quail()))
    entry = plans.adopt(world.by, plan_id=plan.pk, seen_version=plan.version)
    assert "Ada: adopted" in words(seen.get("/plan/"))
    history.undo(world.by, entry_id=entry.pk)

    assert "adopted, then taken back" in words(seen.get("/plan/"))
