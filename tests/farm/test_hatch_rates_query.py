"""The farm's own rates: the published ones at first, bent by what hatched and arrived here."""

from __future__ import annotations

from datetime import date

import pytest

from farm.queries import hatch_rates
from farm.queries.hatch_rates import FarmRates
from farm.services import egg_entries, hatches, intakes
from farm.trade import load
from tests.conftest import World
from tests.farm.egg_world import at, cabinet, chicks_from, day, on, put_in

THREE_WEEKS_AGO = day(-21)
LAYERS = load.programmes()["chicken_layer_brown"]


def hatch(
    world: World, eggs: int, hatched: int, *, set_on: date = THREE_WEEKS_AGO, clear: int = 0, **fields: object
) -> None:
    """Set eggs in a machine of their own and record their hatch three weeks later."""
    machine = cabinet(world, f"Cabinet {set_on} {eggs}", medium_eggs=eggs, large_eggs=eggs)
    egg_set = put_in(world, machine, eggs, set_on=set_on, **fields)
    if clear:
        egg_entries.record(world.by, egg_set_id=egg_set.pk, counts={"clear": clear}, day=set_on)
    over = egg_set.batch.hatch_day
    by = on(world, max(0, (over - day(0)).days))
    hatches.record(by, egg_set_id=egg_set.pk, day=over, hatched=hatched, expected_version=None)


def test_without_own_hatches_the_tables_rates_hold(world: World):
    rates = FarmRates(world.farm).of("chicken")

    assert (rates.sets, rates.learned.hatch.mean, rates.learned.fertility.mean) == (0, 0.70, 0.90)
    (stage,) = hatch_rates.stages(world.farm, LAYERS, 0, 5)
    assert (stage.chance, stage.worth) == (pytest.approx(0.70), pytest.approx(50))


def test_each_hatch_of_the_species_bends_the_rate_and_another_species_does_not(world: World):
    hatch(world, 100, 40)
    hatch(world, 60, 60, programme="duck", set_on=day(-28))

    rates = FarmRates(world.farm).of("chicken")

    # 35 of the table's 50 eggs and 40 of 100
    assert (rates.sets, rates.eggs, rates.learned.hatch.mean) == (1, 100, pytest.approx(75 / 150))


def test_a_set_nobody_candled_says_nothing_about_fertility(world: World):
    hatch(world, 50, 20)
    assert FarmRates(world.farm).of("chicken").learned.fertility.mean == pytest.approx(0.90)

    hatch(world, 40, 20, set_on=day(-22), clear=16)
    assert FarmRates(world.farm).of("chicken").learned.fertility.mean == pytest.approx((45 + 24) / 90)


def test_a_month_with_bad_hatches_expects_fewer_than_the_others(world: World):
    hatch(world, 100, 20)

    may, june = (hatch_rates.stages(world.farm, LAYERS, 0, month)[0].chance for month in (5, 6))

    assert may < june < 0.70


def test_the_stage_falls_with_storage_and_never_below_nothing(world: World):
    rates = FarmRates(world.farm)

    chances = [rates.stages(LAYERS, days, 5)[0].chance for days in (0, 7, 10, 21)]

    assert chances == [pytest.approx(share) for share in (0.70, 0.70, 0.67, 0.56)]
    hatch(world, 1000, 0)
    assert FarmRates(world.farm).stages(LAYERS, 21, 5)[0].chance == 0


def test_an_egg_that_lives_hatches_more_often_than_an_egg_that_was_set(world: World):
    (stage,) = FarmRates(world.farm).stages_of_fertile(LAYERS, 0, 5)

    assert (stage.chance, stage.worth) == (pytest.approx(0.70 / 0.90), pytest.approx(45))


def test_boxes_with_dead_chicks_lower_what_is_expected_to_arrive(world: World):
    assert hatch_rates.arrival(world.farm, LAYERS).chance == pytest.approx(0.98)
    intake = chicks_from(world, 50, due=0)
    intakes.arrive(world.by, intake_id=intake.pk, arrived_at=at(0), alive=40, dead=10, expected_version=None)

    stage = hatch_rates.arrival(world.farm, LAYERS)

    assert (stage.chance, stage.worth) == (pytest.approx((49 + 40) / 100), 100)
    assert chicks_from(world, 100).batch.count_entries.get().birds == 89


def test_no_farm_learns_from_another(world: World, elsewhere: World):
    hatch(elsewhere, 100, 0)

    assert FarmRates(world.farm).of("chicken").learned.hatch.mean == pytest.approx(0.70)


def test_reading_all_rates_takes_two_queries(world: World, django_assert_num_queries):
    hatch(world, 50, 20)

    with django_assert_num_queries(2):
        rates = FarmRates(world.farm)
        for species in ("chicken", "duck", "quail"):
            rates.of(species)
