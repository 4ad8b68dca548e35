"""Chicks from elsewhere: expected, given another day, counted in, cancelled."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, Intake
from farm.services import intakes, suppliers
from farm.web.hatching.intakes import yolk
from tests.conftest import NOON, TODAY, World
from tests.web.hatching_world import at, chicks_from, day, errors, said, sign_in, written


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def local(offset: int, hour: int) -> str:
    """Return a day and hour as the browser's picker sends it, on the farm's clock (Berlin, two hours ahead)."""
    return f"{day(offset).isoformat()}T{hour:02d}:00"


def arrival(intake: Intake, **typed: Any) -> dict[str, Any]:
    usual = {"alive": "48", "dead": "2", "arrived_at": local(0, 9), "version": str(intake.version)}
    return usual | typed


def test_a_farm_without_any_is_led_to_expect_its_first(seen: Client, world: World):
    assert "Expect your first chicks" in said(seen.get("/hatching/intakes/"))


def test_chicks_are_expected_with_their_batch_and_place(seen: Client, world: World):
    brooder = world.housing["Brooder 1"]
    typed = {
        "programme": "duck",
        "ordered": "30",
        "due_on": day(10).isoformat(),
        "from_whom": "Mill",
        "way": "post",
    }

    answer = seen.post(
        "/hatching/intakes/new/", typed | {"sex": "straight_run", "extras": "", "housing_id": str(brooder.pk)}
    )

    intake = Intake.objects.get()
    assert answer.url == f"/hatching/intakes/{intake.pk}/"
    assert (intake.ordered, intake.extras, intake.batch.expected) == (30, 0, True)
    assert intake.batch.stays.get().housing == brooder


def test_the_only_supplier_and_its_first_day_are_filled_in(seen: Client, world: World):
    mill = suppliers.add(world.by, name="Mill", lead_days=10)

    start = seen.get("/hatching/intakes/new/").context["form"].initial

    assert (start["supplier_id"], start["due_on"]) == (mill.pk, day(10))


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"ordered": "0"}, "ordered"),
        ({"from_whom": ""}, "from_whom"),
        ({"programme": ""}, "programme"),
        ({"due_on": "2028-05-01"}, "due_on"),
        ({"hatched_at": local(11, 8)}, "hatched_at"),
        ({"supplier_id": "999"}, "supplier_id"),
    ],
)
def test_what_cannot_be_expected_is_refused_at_its_field(seen: Client, world: World, typed: dict, field: str):
    usual = {"programme": "duck", "ordered": "30", "due_on": day(10).isoformat(), "from_whom": "Mill"}
    before = written()

    answer = seen.post("/hatching/intakes/new/", usual | {"way": "post", "sex": "straight_run"} | typed)

    assert list(errors(answer)) == [field]
    assert written() == before


def test_chicks_that_are_due_are_counted_in_by_a_helper(client: Client, world: World):
    intake = chicks_from(world, 50, due=0)
    brooder = world.housing["Brooder 1"]
    sign_in(client, world.add_member("Cara", "helper"))

    with time_machine.travel(NOON, tick=False):
        assert "They have come" in said(client.get("/hatching/intakes/"))
        answer = client.post(
            f"/hatching/intakes/{intake.pk}/arrive/",
            arrival(intake, weak="3", hatched_at=local(-1, 7), housing_id=str(brooder.pk)),
        )

    batch = Batch.objects.get()
    intake.refresh_from_db()
    assert answer.url == f"/batches/{batch.pk}/"
    assert (intake.alive, intake.dead, intake.weak, intake.hatched_at) == (48, 2, 3, at(-1, -5))
    assert (batch.expected, batch.hatch_day, batch.arrived_on) == (False, day(-1), TODAY)
    assert sum(entry.birds for entry in batch.count_entries.all()) == 48
    assert batch.stays.get().housing == brooder


def test_an_arrival_of_none_alive_leaves_no_batch(seen: Client, world: World):
    intake = chicks_from(world, 50, due=0)

    answer = seen.post(f"/hatching/intakes/{intake.pk}/arrive/", arrival(intake, alive="0", dead="50"))

    assert answer.url == f"/hatching/intakes/{intake.pk}/"
    assert not Batch.objects.exists()


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"alive": ""}, "alive"),
        ({"alive": "0", "dead": "0"}, "alive"),
        ({"weak": "49"}, "weak"),
        ({"arrived_at": local(1, 9)}, "arrived_at"),
        ({"hatched_at": local(0, 10)}, "hatched_at"),
    ],
)
def test_an_arrival_that_cannot_be_is_refused_at_its_field(
    seen: Client, world: World, typed: dict, field: str
):
    intake = chicks_from(world, 50, due=0)
    before = written()

    answer = seen.post(f"/hatching/intakes/{intake.pk}/arrive/", arrival(intake, **typed))

    assert list(errors(answer)) == [field]
    assert written() == before


def test_an_arrival_is_recorded_once(seen: Client, world: World):
    intake = chicks_from(world, 50, due=0)
    seen.post(f"/hatching/intakes/{intake.pk}/arrive/", arrival(intake))
    before = written()

    again = seen.post(f"/hatching/intakes/{intake.pk}/arrive/", arrival(intake))

    assert list(errors(again)) == [""]
    assert seen.get(f"/hatching/intakes/{intake.pk}/arrive/").url == f"/hatching/intakes/{intake.pk}/"
    assert written() == before


def test_a_later_day_moves_the_batch(seen: Client, world: World):
    intake = chicks_from(world, 50, due=3)
    form = seen.get(f"/hatching/intakes/{intake.pk}/edit/").context["form"]
    kept = {name: value for name in form.fields if (value := form[name].value()) is not None}

    seen.post(f"/hatching/intakes/{intake.pk}/edit/", kept | {"due_on": day(5).isoformat()})

    intake.refresh_from_db()
    assert intake.due_on == intake.batch.arrived_on == day(5)


def test_of_chicks_that_came_only_notes_and_names_are_changed(seen: Client, world: World):
    intake = chicks_from(world, 50, due=0)
    intakes.arrive(world.by, intake_id=intake.pk, arrived_at=at(0), alive=50, expected_version=intake.version)

    form = seen.get(f"/hatching/intakes/{intake.pk}/edit/").context["form"]

    assert set(form.fields) == {"supplier_id", "from_whom", "notes", "version"}


def test_cancelling_asks_first(seen: Client, world: World):
    intake = chicks_from(world, 50)
    before = written()

    assert "Cancel the chicks from Mill Hatchery?" in said(seen.get(f"/hatching/intakes/{intake.pk}/cancel/"))
    assert written() == before
    seen.post(f"/hatching/intakes/{intake.pk}/cancel/")

    assert Intake.objects.get().state == "cancelled"
    assert not Batch.objects.exists()


def test_chicks_that_are_late_are_asked_about(seen: Client, world: World):
    with time_machine.travel(at(-5), tick=False):
        intake = chicks_from(world, 50, due=-1)

    for address in ("/hatching/intakes/", f"/hatching/intakes/{intake.pk}/"):
        assert "They were expected on 30 April." in said(seen.get(address))


@pytest.mark.parametrize(("hours", "late"), [(24, False), (72, False), (73, True)])
def test_after_three_days_on_their_yolk_a_caution_is_shown(
    seen: Client, world: World, hours: int, late: bool
):
    intake = chicks_from(world, 50, due=0, hatched_at=NOON - timedelta(hours=hours))

    page = said(seen.get(f"/hatching/intakes/{intake.pk}/"))

    assert f"{hours} hours ago" in page
    assert ("More than 72 hours since the hatch" in page) == late


def test_the_hours_end_when_the_chicks_come(world: World):
    intake = Intake(hatched_at=at(-3), arrived_at=at(-1), state="arrived")
    coming = Intake(hatched_at=at(2), state="expected")
    unknown, cancelled = Intake(state="expected"), Intake(hatched_at=at(-9), state="cancelled")

    assert (yolk(intake, at(9)).hours, yolk(intake, at(9)).late) == (48, False)
    assert (yolk(coming, at(0)).hatched, yolk(coming, at(0)).hours, yolk(coming, at(0)).late) == (
        False,
        0,
        False,
    )
    assert yolk(unknown, at(0)) is None
    assert yolk(cancelled, at(0)) is None


def test_a_hatch_that_is_still_to_come_is_not_filled_into_the_arrival(seen: Client, world: World):
    coming = chicks_from(world, 50, due=2, hatched_at=at(1))
    hatched = chicks_from(world, 50, due=2, hatched_at=at(-1))

    assert "hatched_at" not in seen.get(f"/hatching/intakes/{coming.pk}/arrive/").context["form"].initial
    assert seen.get(f"/hatching/intakes/{hatched.pk}/arrive/").context["form"].initial["hatched_at"] == at(-1)
