"""What the farm has learned of eggs and bought chicks, beside what the tables say."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine
from django.test import Client

from farm.services import egg_entries, hatches, intakes
from farm.trade.eggs import egg_kinds
from farm.web.hatching.rates import Rate
from tests.conftest import NOON, TODAY, World
from tests.web.hatching_world import at, cabinet, chicks_from, day, put_in, said, sign_in


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def test_a_farm_without_hatches_reads_the_tables_of_every_species(seen: Client, world: World):
    answer = seen.get("/hatching/rates/")

    assert answer.context["own"] == []
    assert len(answer.context["tables"]) == len(egg_kinds())
    assert "Nothing has hatched or arrived here yet" in said(answer)


def test_hatches_move_the_rates_and_narrow_them(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 60, set_on=day(-21))
    egg_entries.record(world.by, egg_set_id=egg_set.pk, counts={"clear": 2}, day=day(-14))
    egg_set.refresh_from_db()
    hatches.record(world.by, egg_set_id=egg_set.pk, day=TODAY, hatched=57, expected_version=egg_set.version)

    (hens,) = seen.get("/hatching/rates/").context["own"]

    table = egg_kinds()["chicken"]
    assert hens.hatch.percent == round(100 * (50 * table.hatch_rate + 57) / 110)
    assert hens.hatch.table == round(100 * table.hatch_rate)
    assert hens.hatch.low < hens.hatch.percent < hens.hatch.high
    assert hens.fertility.percent == round(100 * (50 * table.fertility + 58) / 110)
    assert (hens.fertility.seen, hens.hatch.seen, hens.known.sets) == (60, 60, 1)
    assert [(month.day.month, month.sets, month.rate.seen) for month in hens.months] == [(5, 1, 60)]


def test_a_set_that_nobody_candled_says_nothing_of_fertility(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 60, set_on=day(-21))
    hatches.record(world.by, egg_set_id=egg_set.pk, day=TODAY, hatched=57, expected_version=egg_set.version)

    (hens,) = seen.get("/hatching/rates/").context["own"]

    assert hens.fertility.seen == 0
    assert hens.fertility.percent == hens.fertility.table


def test_arrivals_teach_how_many_are_lost_on_the_way(seen: Client, world: World):
    intake = chicks_from(world, 50, due=0)
    intakes.arrive(
        world.by, intake_id=intake.pk, arrived_at=at(0), alive=40, dead=10, expected_version=intake.version
    )

    answer = seen.get("/hatching/rates/")

    (hens,) = answer.context["own"]
    assert (hens.arrives.percent, hens.arrives.table, hens.arrives.seen) == (89, 98, 50)
    page = said(answer)
    assert "1 arrival, 50 chicks" in page
    assert "Hatched, of eggs set" not in page


def test_a_rate_is_drawn_in_the_order_of_its_numbers():
    rate = Rate(70, 60, 85, 65, (), 10)

    assert 6 < rate.low_x < rate.table_x < rate.x < rate.high_x < 194
    assert (Rate(0, 0, 0, 0, (), 0).x, Rate(100, 100, 100, 100, (), 0).x) == (6.0, 194.0)
