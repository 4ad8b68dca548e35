"""Chicks from elsewhere: expected, moved, cancelled and received; their batch follows each time."""

from __future__ import annotations

from typing import Any

import pytest

from farm.errors import NotAllowed, Stale
from farm.models import Batch, CountEntry, HistoryEntry, Intake, Stay
from farm.queries import heads, soundness
from farm.services import intakes, stays, suppliers
from tests.conftest import TODAY, World
from tests.farm.egg_world import at, chicks_from, day, on, refused


def change(world: World, intake: Intake, **fields: Any) -> Intake:
    return intakes.change(world.by, intake_id=intake.pk, expected_version=None, **fields)


def arrive(world: World, intake: Intake, offset: int, alive: int = 48, **fields: Any) -> Batch | None:
    fields = {"arrived_at": at(offset), "expected_version": None} | fields
    return intakes.arrive(on(world, offset), intake_id=intake.pk, alive=alive, **fields)


def expect_refused(world: World, **fields: Any) -> dict[str, list[str]]:
    fields = {
        "programme": "chicken_layer_brown",
        "ordered": 50,
        "due_on": day(10),
        "from_whom": "Mill",
    } | fields
    return refused(intakes.expect, world.by, new=intakes.NewIntake(**fields))


def arrive_refused(world: World, intake: Intake, **fields: Any) -> dict[str, list[str]]:
    fields = {"arrived_at": at(0), "alive": 48, "expected_version": None} | fields
    return refused(intakes.arrive, world.by, intake_id=intake.pk, **fields)


def test_an_intake_has_its_batch_from_the_start(world: World):
    brooder = world.housing["Brooder 1"].pk
    intake = chicks_from(world, 50, extras=5, due=10, sex="sexed_female", breed="Marans", housing_id=brooder)

    batch = Batch.objects.get()
    assert (intake.batch, batch.name) == (batch, "Mill Hatchery, 11 May")
    assert (batch.expected, batch.source, batch.sex, batch.breed) == (
        True,
        "intake",
        "sexed_female",
        "Marans",
    )
    assert (batch.hatch_day, batch.arrived_on) == (day(9), day(10))
    # 55 chicks less 2 in 100 on the way
    assert [(line.kind, line.birds, line.day) for line in CountEntry.objects.all()] == [
        ("arrived", 54, day(10))
    ]
    assert [(stay.birds, stay.start, stay.actual) for stay in Stay.objects.all()] == [(54, day(10), False)]
    assert soundness.problems(world.farm) == []
    assert HistoryEntry.objects.order_by("-pk")[0].summary == "55 chicks from Mill Hatchery on 11 May 2026"


def test_the_suppliers_way_says_how_old_they_come(world: World):
    supplier = suppliers.add(world.by, name="Far Hatchery", hours_on_the_way=60)

    intake = chicks_from(world, from_whom="", supplier_id=supplier.pk)
    fetched = chicks_from(world, way="fetched", name="Fetched")
    told = chicks_from(world, hatched_at=at(7), name="Told")

    assert intake.from_whom == "Far Hatchery"
    assert [row.batch.hatch_day for row in (intake, fetched, told)] == [day(8), day(10), day(7)]


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"ordered": 0}, "ordered"),
        ({"ordered": 5001}, "ordered"),
        ({"ordered": 4000, "extras": 1001}, "ordered"),
        ({"extras": -1}, "extras"),
        ({"due_on": day(401)}, "due_on"),
        ({"from_whom": " "}, "from_whom"),
        ({"sex": "mixed"}, "sex"),
        ({"way": "by swan"}, "way"),
        ({"hatched_at": at(11)}, "hatched_at"),
        ({"programme": "unicorn"}, "programme"),
    ],
)
def test_an_intake_that_cannot_be_is_refused_at_its_field(world: World, fields: dict[str, Any], field: str):
    assert list(expect_refused(world, **fields)) == [field]


def test_a_later_day_moves_the_batch_and_its_stays_but_not_the_pinned(world: World):
    intake = chicks_from(world, due=10, housing_id=world.housing["Brooder 1"].pk)
    first = Stay.objects.get()
    stays.change(world.by, stay_id=first.pk, expected_version=None, end=day(60))
    batch, pen = intake.batch.pk, world.housing["Pen 1"].pk
    stays.add(world.by, batch_id=batch, housing_id=pen, birds=49, start=day(60), end=day(90))
    stays.add(world.by, batch_id=batch, housing_id=pen, birds=49, start=day(90), end=None, pinned=True)

    change(world, intake, due_on=day(13))

    assert (Batch.objects.get().hatch_day, Batch.objects.get().arrived_on) == (day(12), day(13))
    assert [(stay.start, stay.end) for stay in Stay.objects.all()] == [
        (day(13), day(63)),
        (day(63), day(90)),
        (day(90), None),
    ]
    assert soundness.problems(world.farm) == []


def test_more_ordered_chicks_and_their_sex_reach_the_batch(world: World):
    intake = chicks_from(world, 50, housing_id=world.housing["Brooder 1"].pk)

    change(world, intake, ordered=60, sex="sexed_male")

    assert heads.alive_on(intake.batch, day(10)) == 59
    assert (Batch.objects.get().sex, Stay.objects.get().birds) == ("sexed_male", 59)


def test_a_day_after_the_birds_are_to_leave_is_refused(world: World):
    intake = chicks_from(world)
    Batch.objects.update(leaves_on=day(30))

    said = refused(intakes.change, world.by, intake_id=intake.pk, expected_version=None, due_on=day(30))
    assert list(said) == ["due_on"]


def test_cancelling_takes_the_batch_along(world: World):
    intake = chicks_from(world, housing_id=world.housing["Brooder 1"].pk)

    intakes.cancel(world.by, intake_id=intake.pk, expected_version=1)

    assert [list(model.objects.all()) for model in (Batch, Stay, CountEntry)] == [[], [], []]
    assert list(refused(intakes.cancel, world.by, intake_id=intake.pk)) == [""]
    assert list(arrive_refused(world, intake)) == [""]
    assert soundness.problems(world.farm) == []


@pytest.mark.parametrize("offset", [8, 10, 13])
def test_an_arrival_early_or_late_confirms_the_batch_on_its_day(world: World, offset: int):
    intake = chicks_from(world, 50, due=10, housing_id=world.housing["Brooder 1"].pk)

    batch = arrive(world, intake, offset, 47, dead=3, weak=2)

    intake.refresh_from_db()
    assert (intake.state, intake.alive, intake.dead, intake.weak) == ("arrived", 47, 3, 2)
    assert (batch.expected, batch.arrived_on, batch.hatch_day) == (False, day(offset), day(offset - 1))
    assert (heads.alive_on(batch, day(offset - 1)), heads.alive_on(batch, day(offset))) == (0, 47)
    assert [(stay.birds, stay.start, stay.actual) for stay in batch.stays.all()] == [(47, day(offset), True)]
    assert soundness.problems(world.farm) == []


def test_the_box_says_when_they_hatched(world: World):
    intake = chicks_from(world, due=10)

    batch = arrive(world, intake, 10, hatched_at=at(8))

    intake.refresh_from_db()
    assert (batch.hatch_day, intake.hatched_at) == (day(8), at(8))


def test_a_box_of_dead_chicks_leaves_no_batch(world: World):
    intake = chicks_from(world, housing_id=world.housing["Brooder 1"].pk)

    assert arrive(world, intake, 10, 0, dead=50) is None

    intake.refresh_from_db()
    assert (intake.state, intake.batch, intake.dead) == ("arrived", None, 50)
    assert not Batch.objects.exists()
    assert soundness.problems(world.farm) == []


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"arrived_at": at(0, 1)}, "arrived_at"),
        ({"arrived_at": at(-500)}, "arrived_at"),
        ({"hatched_at": at(0, 1)}, "hatched_at"),
        ({"alive": -1}, "alive"),
        ({"alive": 5001}, "alive"),
        ({"dead": -1}, "dead"),
        ({"weak": 49}, "weak"),
        ({"alive": 0, "dead": 0}, "alive"),
    ],
)
def test_an_arrival_that_cannot_be_is_refused_at_its_field(world: World, fields: dict[str, Any], field: str):
    assert list(arrive_refused(world, chicks_from(world, due=0), **fields)) == [field]


def test_an_arrival_is_recorded_once(world: World):
    intake = chicks_from(world, due=0)
    arrive(world, intake, 0)

    assert arrive_refused(world, intake) == {"": ["The arrival from Mill Hatchery was already recorded."]}


def test_what_has_arrived_keeps_its_day_but_its_words_may_be_put_right(world: World):
    intake = chicks_from(world, due=0)
    arrive(world, intake, 0)

    said = refused(intakes.change, world.by, intake_id=intake.pk, expected_version=None, due_on=day(1))
    assert list(said) == [""]
    assert change(world, intake, from_whom="Hill Hatchery").from_whom == "Hill Hatchery"


def test_a_stale_form_of_an_intake_changes_nothing(world: World):
    intake = chicks_from(world, due=0)
    change(world, intake, ordered=51)

    with pytest.raises(Stale):
        arrive(world, intake, 0, expected_version=1)
    assert Batch.objects.get().expected


def test_a_helper_receives_chicks_and_only_a_keeper_orders_them(world: World):
    intake, helper = chicks_from(world, due=0), world.add_member("Tom", "helper")

    with pytest.raises(NotAllowed):
        intakes.cancel(helper, intake_id=intake.pk)
    batch = intakes.arrive(helper, intake_id=intake.pk, arrived_at=at(0), alive=48, expected_version=None)
    assert batch.arrived_on == TODAY
