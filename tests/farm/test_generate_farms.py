"""Invented farms by the thousand: sound, believable, the same for the same seed, and never among real ones unasked."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.db import DatabaseError, transaction

from farm.errors import BadInput
from farm.models import Batch, ChoreMark, CountEntry, Farm, Filling, Housing, Login, Member, Order, Stay
from farm.planning.window import Window
from farm.queries import agenda, occupancy, soundness
from farm.services import synthetic
from farm.services.actor import local_day
from farm.services.synthetic import bulk, rows
from tests.conftest import NOON, World
from tests.farm.judging import everything

pytestmark = pytest.mark.django_db


def made(farms: int, **fields: Any) -> list[int]:
    return list(synthetic.generate(synthetic.Wanted(farms, **fields), now=NOON))


def told() -> list[tuple[Any, ...]]:
    """Return what the farms say, without the numbers of their rows."""
    return [
        *Farm.objects.order_by("pk").values_list("name", "time_zone", "latitude"),
        *Member.objects.order_by("pk").values_list("name", "role", "login__email"),
        *Housing.objects.order_by("pk").values_list("name", "area_m2", "code"),
        *CountEntry.objects.order_by("pk").values_list("batch__name", "kind", "birds", "day"),
        *Stay.objects.order_by("pk").values_list("batch__name", "housing__name", "birds", "start", "end"),
        *Order.objects.order_by("pk").values_list("customer", "status", "ordered_on", "lines__birds"),
        *ChoreMark.objects.order_by("pk").values_list("title", "due", "round", "minutes"),
    ]


def said(*words: str) -> list[str]:
    out = StringIO()
    call_command("generate_farms", *words, stdout=out)
    return out.getvalue().splitlines()


def test_twenty_farms_are_sound_and_have_all_that_pages_show():
    assert made(20) == [20]

    assert [soundness.problems(farm) for farm in Farm.objects.all()] == [[]] * 20
    assert Farm.objects.filter(is_demo=True).count() == 20
    assert Member.objects.filter(role="keeper", login__isnull=False).count() == 20
    assert all(2 <= Batch.objects.filter(farm=farm).count() <= 5 for farm in Farm.objects.all())
    assert all(model._default_manager.exists() for model in (Housing, Stay, Filling, ChoreMark))
    assert CountEntry.objects.filter(kind="reversed").exists()
    assert set(Order.objects.values_list("status", flat=True)) == {"filled", "confirmed"}
    assert len(set(Batch.objects.values_list("species", flat=True))) > 1


def test_the_database_checks_them_with_the_command_for_any_farm():
    made(3, batches=(1, 1))

    out = StringIO()
    call_command("check_farm", stdout=out)

    assert out.getvalue() == "3 farms checked: all sound.\n"


def test_what_was_ticked_was_due():
    made(4)

    for farm in Farm.objects.all():
        today = local_day(farm, NOON)
        due = {item.occurrence for item in agenda.for_farm(farm, Window(today - timedelta(days=4), 4), today)}
        marks = ChoreMark.objects.filter(farm=farm).values_list("source", "due", "round")
        assert set(marks) <= due
    assert ChoreMark.objects.count() > 20


def test_no_birds_are_without_a_housing_or_where_a_rule_forbids_them():
    made(10)

    for farm in Farm.objects.all():
        today = local_day(farm, NOON)
        sheet = occupancy.for_farm(farm, Window(today, 60), today)
        assert {str(one.kind) for one in sheet.breaches} <= {"room", "feeder", "drinker"}
        assert not any(birds.any() for birds in sheet.unhoused.values())


def test_the_same_seed_makes_the_same_farms_and_another_seed_others():
    made(3, seed=7)
    first = told()
    Farm.objects.all().delete()
    Login.objects.all().delete()
    made(3, seed=7)
    again = told()
    Farm.objects.all().delete()
    Login.objects.all().delete()
    made(3, seed=8)

    assert first == again
    assert told() != first


def test_more_farms_of_a_seed_go_on_where_it_stopped():
    made(2)
    made(2)

    emails = Login.objects.order_by("pk").values_list("email", flat=True)
    assert list(emails) == [synthetic.LOGIN.format(seed=1, number=n) for n in (1, 2, 3, 4)]


def test_many_are_written_in_several_goes(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(bulk, "AT_ONCE", 2)

    assert made(5, batches=(0, 1)) == [2, 4, 5]
    assert Farm.objects.count() == 5


def test_nobody_can_sign_in_unless_a_password_is_said():
    made(1)
    email = synthetic.LOGIN.format(seed=1, number=1)
    assert not Login.objects.get(email=email).has_usable_password()

    assert said("1", "--seed", "2", "--password", "for trying out", "--batches", "0") == [
        "1 of 1 farms",
        "Sign in as keeper-2-1@invented.invalid, and so on.",
    ]
    assert authenticate(username="keeper-2-1@invented.invalid", password="for trying out") is not None


def test_beside_a_real_farm_nothing_is_written_unless_it_is_meant(world: World):
    before = everything()
    with pytest.raises(CommandError, match="There are real farms here") as refused:
        said("2")
    assert "--beside-real-farms" in str(refused.value)
    assert everything() == before

    assert said("2", "--beside-real-farms", "--batches", "1-2") == ["2 of 2 farms"]
    assert Farm.objects.count() == 3
    assert soundness.problems(world.farm) == []


@pytest.mark.parametrize(
    ("fields", "at"),
    [
        ({"farms": 0}, "farms"),
        ({"farms": 2, "batches": (3, 2)}, "batches"),
        ({"farms": 2, "batches": (0, 999)}, "batches"),
    ],
)
def test_numbers_that_cannot_be_meant_are_refused(fields: dict[str, Any], at: str):
    with pytest.raises(BadInput) as refused:
        list(synthetic.generate(synthetic.Wanted(**fields), now=NOON))
    assert list(refused.value.fields) == [at]
    assert not Farm.objects.exists()


def test_a_span_that_is_none_is_refused_by_the_command():
    with pytest.raises(CommandError, match="write it like 2-5"):
        call_command("generate_farms", "1", "--batches=many")


def test_the_guards_are_on_and_a_farm_they_refuse_is_not_written(monkeypatch: pytest.MonkeyPatch):
    """More birds lost than came: the database says no, and nothing of that go stays."""
    alone = rows._ledger

    def too_many(made: rows.Rows, batch: Batch, flock: Any) -> None:
        alone(made, batch, flock)
        rows._line(made, batch, "died", -9999, batch.arrived_on)

    monkeypatch.setattr(rows, "_ledger", too_many)
    with pytest.raises(DatabaseError), transaction.atomic():
        made(2)
    assert not Farm.objects.exists()
