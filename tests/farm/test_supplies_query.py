"""What orders can be filled from, as the allotment reads it."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.husbandry import odds
from farm.models import Batch, EggSet, Intake, Machine
from farm.models.egg_set import EggEntry
from farm.queries import hatch_rates, programmes, supplies
from farm.services import counts, holds, orders
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day
from tests.farm.orders_world import give, line, take


def only(world: World) -> supplies.Supply:
    [found] = supplies.supplies(world.farm, TODAY)
    return found


def test_birds_that_are_here_are_certain(world: World):
    batch = world.add_batch("Browns", leaves_on=day(30), breed="Maran")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)
    holds.add(world.by, batch_id=batch.pk, birds=2, sex="male")

    found = only(world)

    assert (found.key, found.name, found.type, found.breed) == (
        str(batch.pk),
        "Browns",
        "chicken_layer_brown",
        "Maran",
    )
    assert (found.known_on, found.from_on, found.until, found.live) == (TODAY, day(-14), day(30), True)
    assert [chance for chance in found.law if chance] == [1.0]
    assert odds.mean(found.law) == 37
    assert [(hold.birds, hold.sex) for hold in found.holds] == [(2, "male")]


def test_birds_of_a_batch_that_should_have_left_may_still_be_given(world: World):
    world.add_batch("Browns", leaves_on=TODAY)

    assert only(world).until is None


@pytest.mark.parametrize(
    ("sex", "share"), [("straight_run", 0.5), ("sexed_female", 1.0), ("sexed_male", 0.0)]
)
def test_the_share_of_females_is_the_batchs(world: World, sex: str, share: float):
    world.add_batch("Browns", sex=sex)

    assert only(world).female_share == share


def test_a_batch_to_come_is_known_on_its_day(world: World):
    world.add_batch("Browns", hatch_day=day(9))

    found = only(world)

    assert (found.known_on, found.from_on, found.live, odds.mean(found.law)) == (day(9), day(9), False, 40)


def test_a_batch_without_birds_is_no_supply(world: World):
    batch = world.add_batch("Browns", birds=5)
    counts.add(world.by, batch_id=batch.pk, kind="sold", birds=5, day=TODAY)

    assert supplies.supplies(world.farm, TODAY) == ()


def expected(world: World, source: str) -> Batch:
    batch = world.add_batch("Hoped", birds=30, hatch_day=day(10), source=source)
    Batch.objects.filter(pk=batch.pk).update(expected=True)
    return Batch.objects.get(pk=batch.pk)


def test_an_egg_set_is_as_sure_as_its_eggs_and_surer_once_candled(world: World):
    batch = expected(world, "own_hatch")
    machine = Machine.objects.create(farm=world.farm, name="Cabinet", does="both", medium_eggs=90)
    eggs = EggSet.objects.create(
        farm=world.farm,
        name="E1",
        species=batch.species,
        type=batch.type,
        programme_version=batch.programme_version,
        eggs=60,
        setter=machine,
        hatcher=machine,
        set_at=NOON,
        set_on=day(-11),
        batch=batch,
    )
    programme = programmes.of(batch)
    rates = hatch_rates.FarmRates(world.farm)

    found = only(world)
    assert found.law == tuple(odds.birds(60, rates.stages(programme, 0, day(10).month)))
    assert (found.live, found.known_on) == (False, day(10))

    EggEntry.objects.create(farm=world.farm, egg_set=eggs, kind="clear", eggs=12, day=TODAY, created_at=NOON)
    assert only(world).law == tuple(odds.birds(48, rates.stages_of_fertile(programme, 0, day(10).month)))


def test_an_intake_is_as_sure_as_the_way_it_comes(world: World):
    batch = expected(world, "intake")
    Intake.objects.create(
        farm=world.farm,
        from_whom="Hatchery",
        species=batch.species,
        type=batch.type,
        programme_version=batch.programme_version,
        ordered=30,
        extras=2,
        due_on=day(10),
        batch=batch,
    )

    arrival = hatch_rates.arrival(world.farm, programmes.of(batch))
    assert only(world).law == tuple(odds.birds(32, (arrival,)))


def test_a_hatch_that_is_overdue_is_still_known_from_its_day(world: World):
    batch = expected(world, "intake")

    [found] = supplies.supplies(world.farm, day(20))

    assert (found.key, found.known_on) == (str(batch.pk), day(10))


def test_only_what_confirmed_orders_still_lack_is_wanted(world: World):
    batch = world.add_batch("Browns")
    begun, full, quote, off = (
        take(world, line(birds=9, breed="Maran", sex="female"), priority=1),
        take(world, line(birds=2)),
        take(world, status="quote"),
        take(world),
    )
    Batch.objects.filter(pk=batch.pk).update(breed="maran")
    batch.refresh_from_db()
    give(world, begun, batch, 4)
    give(world, full, batch, 2, anyway=True)
    orders.set_status(world.by, order_id=off.pk, status="cancelled", expected_version=None)

    [wanted] = supplies.wanted(world.farm)

    assert (wanted.key, wanted.birds, wanted.priority) == (str(begun.lines.get().pk), 5, 1)
    assert (wanted.type, wanted.breed, wanted.sex) == ("chicken_layer_brown", "Maran", "female")
    assert (wanted.from_on, wanted.to_on, wanted.age_to_days) == (day(3), day(6), 400)
    assert supplies.wanted(quote.farm)[0].name == "Meadow Farm"


def test_reading_supplies_takes_a_steady_number_of_queries(world: World):
    def many(number: int) -> int:
        for place in range(number):
            world.add_batch(f"Batch of {number} number {place}")
            take(world)
        with CaptureQueriesContext(connection) as found:
            supplies.supplies(world.farm, TODAY)
            supplies.wanted(world.farm)
        return len(found)

    assert many(1) == many(4)
