"""The button that has a plan proved, and what the page says of the proof."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from farm.models import Plan
from farm.services import proving
from tests.conftest import NOON, World
from tests.farm.plan_cases import crowded, solved
from tests.farm.test_proving_service import gaping
from tests.web.plan_pages import words

BUTTON = "Prove that nothing is better (up to a minute)"


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def plan(world: World) -> Plan:
    return gaping(solved(crowded(world)))


def test_asked_for_a_proof_the_page_says_so_and_then_that_no_plan_can_do_better(seen: Client, plan: Plan):
    page = f"/plan/{plan.code}/"
    assert BUTTON in words(seen.get(page))

    answer = seen.post(f"{page}prove/")

    assert (answer.status_code, answer["Location"]) == (302, page)
    under_way = words(seen.get(page))
    assert "Being proved …" in under_way
    assert BUTTON not in under_way
    proving.run(plan_id=plan.pk)
    done = words(seen.get(page))
    assert "No plan can do better." in done
    assert BUTTON not in done
    assert "Being proved" not in done


@pytest.mark.parametrize(
    ("proof", "said"),
    [
        ("open", "Not proved within a minute."),
        ("parts", "No plan with the batches in these parts can do better"),
    ],
)
def test_what_was_not_proved_is_said(seen: Client, plan: Plan, proof: str, said: str):
    Plan.objects.filter(pk=plan.pk).update(proof=proof)

    text = words(seen.get(f"/plan/{plan.code}/"))

    assert said in text
    assert (BUTTON in text) is (proof == "open")


def test_a_proof_nobody_answered_can_be_asked_for_again(seen: Client, plan: Plan):
    Plan.objects.filter(pk=plan.pk).update(proof="asked", proof_asked_at=NOON - timedelta(minutes=5))

    text = words(seen.get(f"/plan/{plan.code}/"))

    assert BUTTON in text
    assert "Being proved" not in text


def test_a_proof_that_is_refused_says_why_on_the_page(seen: Client, plan: Plan):
    Plan.objects.filter(pk=plan.pk).update(state="dropped")

    answer = seen.post(f"/plan/{plan.code}/prove/", follow=True)

    assert "Only a plan that is ready can be proved." in words(answer)
