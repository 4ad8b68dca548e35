"""From what does not fit to what would help, and proposals that make themselves known."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, Plan
from farm.models.plan import PlanState
from farm.services import counts, plans
from tests.conftest import NOON, TODAY, World
from tests.web.plan_pages import crowd, help_link, words


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks, 14 days old, in Brooder 1 until they go to the pen on 1 June."""
    return world.add_batch("Browns", housing="Brooder 1", housing_until=TODAY + timedelta(days=31))


def test_what_does_not_fit_on_the_board_leads_to_ways_out_and_one_click_tries_the_first(
    seen: Client, world: World
):
    crowd(world)
    board = seen.get("/board/")
    assert board.context["board"].told

    found = seen.get(help_link(board))
    offer = found.context["found"].offers[0]
    answer = seen.post("/plan/try/", {"changes": offer.sealed})

    assert "What would help" in words(found)
    plan = Plan.objects.get(code=answer["Location"].split("/")[2])
    assert (offer.left, plan.state, plan.bill["shortfall"]) == ((), PlanState.READY, 0)
    assert seen.get(f"/plan/{plan.code}/").context["pair"].then.told == ()
    assert "Everything fits" in words(seen.get(f"/plan/{plan.code}/"))


def test_a_way_out_offered_before_the_farm_changed_is_worked_out_again(seen: Client, world: World):
    batch = crowd(world)
    offer = seen.get(help_link(seen.get("/board/"))).context["found"].offers[0]
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=1, day=TODAY)

    answer = seen.post("/plan/try/", {"changes": offer.sealed})

    plan = Plan.objects.get(code=answer["Location"].split("/")[2])
    assert (plan.state, plan.solution) == (PlanState.WAITING, None)


@pytest.mark.parametrize("query", ["", "?kind=room&day=2026-05-01", "?kind=room&housing=x&day=never"])
def test_help_with_nothing_known_offers_to_look_for_a_better_plan(
    seen: Client, world: World, browns: Batch, query: str
):
    assert "Look for a better plan" in words(seen.get(f"/plan/help/{query}"))


def test_a_helper_sees_the_board_without_the_keepers_ways_out(client: Client, world: World):
    crowd(world)
    client.force_login(world.add_member("Lina", "helper").login)
    with time_machine.travel(NOON, tick=False):
        html = client.get("/board/").content.decode()

    assert "/plan/help/" not in html
    assert "plan_drag.js" not in html


@pytest.fixture
def noticed(world: World, browns: Batch) -> Plan:
    """A plan that was proposed by itself after a loss and is worked out: a move fewer for the crowd."""
    crowd(world)
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=9, day=TODAY)
    plan = plans.propose_after(farm_id=world.farm.pk, why="losses", now=NOON)
    assert plan is not None
    plans.solve_now(world.by, plan_id=plan.pk, now=lambda: NOON)
    plan.refresh_from_db()
    assert plan.state == PlanState.READY
    return plan


@pytest.mark.parametrize("page", ["/", "/board/", "/plan/"])
def test_a_proposal_made_by_itself_is_told_of_where_keepers_look(seen: Client, noticed: Plan, page: str):
    answer = seen.get(page)

    assert "1 better plan to look at" in words(answer)
    assert f'href="/plan/{noticed.code}/"' in answer.content.decode()


def test_a_helper_is_not_told_of_proposals(client: Client, world: World, noticed: Plan):
    client.force_login(world.add_member("Lina", "helper").login)
    with time_machine.travel(NOON, tick=False):
        pages = [client.get(page).content.decode() for page in ("/", "/board/")]

    assert all(noticed.code not in html for html in pages)


def test_a_proposal_put_aside_is_told_of_no_more(seen: Client, noticed: Plan):
    seen.post(f"/plan/{noticed.code}/drop/")

    assert "better plan" not in words(seen.get("/board/"))
