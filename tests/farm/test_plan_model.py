"""What the database itself refuses of plans and headroom, whoever writes them."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from farm.errors import BadInput
from farm.models import Headroom, HistoryEntry, Plan
from farm.services import farms, plans
from tests.conftest import NOON, TODAY, World
from tests.farm.plan_cases import crowded, solved


@pytest.fixture
def plan(world: World) -> Plan:
    return solved(crowded(world), iterations=5)


def refused(plan: Plan, **fields: Any) -> None:
    before = Plan.objects.values().get(pk=plan.pk)
    with pytest.raises((IntegrityError, ValidationError)), transaction.atomic():
        Plan.objects.filter(pk=plan.pk).update(**fields)
    assert Plan.objects.values().get(pk=plan.pk) == before


@pytest.mark.parametrize("half", ["solution", "bill", "bound"])
def test_half_a_plan_is_refused(plan: Plan, half: str):
    refused(plan, **{half: None})


def test_a_ready_plan_without_any_solution_is_refused(plan: Plan):
    refused(plan, solution=None, bill=None, bound=None)


@pytest.mark.parametrize(
    "fields",
    [
        {"state": "solving"},
        {"claim": "somebody"},
        {"state": "done"},
        {"kind": "wish"},
        {"state": "failed"},
        {"state": "adopted"},
        {"adopted_at": NOON},
        {"iterations": 0},
    ],
    ids=lambda fields: ", ".join(f"{name}={value}" for name, value in fields.items()),
)
def test_a_state_that_contradicts_itself_is_refused(plan: Plan, fields: dict[str, Any]):
    refused(plan, **fields)


def test_two_plans_of_a_farm_are_never_worked_on_at_once(world: World, plan: Plan):
    other = plans.propose(world.by)
    Plan.objects.filter(pk=other.pk).update(state="solving", claim="one", beat_at=NOON)

    refused(plan, state="solving", claim="two", beat_at=NOON)


def test_a_farm_has_one_open_plan_made_by_itself(world: World, plan: Plan):
    Plan.objects.filter(pk=plan.pk).update(automatic=True)
    other = plans.propose(world.by)

    refused(other, automatic=True)


def test_a_plan_made_by_another_farms_member_is_refused(plan: Plan, elsewhere: World):
    refused(plan, made_by=elsewhere.keeper)


def test_a_plan_adopted_by_another_farms_history_is_refused(plan: Plan, elsewhere: World):
    elsewhere.add_housing("Far brooder")
    entry = HistoryEntry.objects.filter(farm=elsewhere.farm).first()

    refused(plan, adoption=entry)


def test_headroom_planned_anew_is_never_less_than_without(world: World):
    cell = Headroom(farm=world.farm, type="duck", day=TODAY, birds=5, problem_digest="", farm_version=1)
    cell.save()

    with pytest.raises(IntegrityError), transaction.atomic():
        Headroom.objects.filter(pk=cell.pk).update(replanned_birds=4)
    with pytest.raises(IntegrityError), transaction.atomic():
        Headroom.objects.filter(pk=cell.pk).update(plan={})
    assert Headroom.objects.get(pk=cell.pk).replanned_birds is None


@pytest.mark.parametrize("days", [[7], [-1], [5, 5], ["5"], [True], "5", {"5": 1}])
def test_days_to_move_on_are_days_of_the_week_each_once(world: World, days: Any):
    with pytest.raises(BadInput) as refusal:
        farms.change(world.by, move_weekdays=days)

    assert list(refusal.value.fields) == ["move_weekdays"]
    world.farm.refresh_from_db()
    assert world.farm.move_weekdays == [5]


@pytest.mark.parametrize("days", [[], [0], [5, 6]])
def test_any_days_or_none_in_particular_may_suit(world: World, days: list[int]):
    assert farms.change(world.by, move_weekdays=days).move_weekdays == days
