"""Candling: what is found comes off the eggs, and fewer or more chicks are expected of those left."""

from __future__ import annotations

from typing import Any

import pytest

from farm.errors import NotAllowed
from farm.models import EggEntry, EggSet
from farm.queries import hatching, heads, soundness
from farm.services import egg_entries, egg_sets, hatches
from tests.conftest import TODAY, World
from tests.farm.egg_world import cabinet, day, on, put_in, refused


@pytest.fixture
def candled(world: World) -> EggSet:
    """40 eggs set a week ago, at their first candling today; 28 chicks are expected in Brooder 1."""
    return put_in(world, cabinet(world), 40, set_on=day(-7), housing_id=world.housing["Brooder 1"].pk)


def record(world: World, egg_set: EggSet, *, offset: int = 0, key: str = "", **counts: int) -> list[EggEntry]:
    return egg_entries.record(
        on(world, offset), egg_set_id=egg_set.pk, counts=counts, day=day(offset), client_key=key
    )


def record_refused(world: World, egg_set: EggSet, **fields: Any) -> dict[str, list[str]]:
    fields = {"counts": {"clear": 1}, "day": TODAY} | fields
    return refused(egg_entries.record, world.by, egg_set_id=egg_set.pk, **fields)


def expected(egg_set: EggSet) -> int:
    return heads.alive_on(EggSet.objects.get(pk=egg_set.pk).batch, day(30))


def test_eggs_found_are_out_of_the_running(world: World, candled: EggSet):
    record(world, candled, clear=8, early_dead=2)

    row = hatching.row(candled, TODAY)
    assert (row.results, row.left) == ({"clear": 8, "early_dead": 2}, 30)
    assert soundness.problems(world.farm) == []


def test_every_egg_that_lives_counts_for_more_once_the_clear_ones_are_out(world: World, candled: EggSet):
    record(world, candled, clear=4)

    # 0.70 of eggs set, of which 0.90 are fertile: 36 living eggs are what 40 eggs promised
    assert expected(candled) == 28


def test_many_clear_eggs_leave_fewer_chicks_to_expect_and_to_house(world: World, candled: EggSet):
    record(world, candled, clear=22)

    assert expected(candled) == 14
    assert [stay.birds for stay in candled.batch.stays.all()] == [14]


def test_broken_eggs_say_nothing_about_the_others(world: World, candled: EggSet):
    record(world, candled, broken=10)

    assert expected(candled) == 21


def test_a_set_without_a_living_egg_leads_nobody_to_expect_chicks(world: World, candled: EggSet):
    record(world, candled, clear=40)

    assert expected(candled) == 0
    assert hatching.row(candled, TODAY).expected == 0
    assert soundness.problems(world.farm) == []
    assert (
        hatches.record(on(world, 14), egg_set_id=candled.pk, day=day(14), hatched=0, expected_version=None)
        is None
    )


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"counts": {"clear": 41}}, "clear"),
        ({"counts": {"clear": 30, "quitter": 11}}, "quitter"),
        ({"counts": {"clear": -1}}, "clear"),
        ({"counts": {"clear": 0}}, ""),
        ({"counts": {}}, ""),
        ({"counts": {"hatched": 3}}, "hatched"),
        ({"counts": {"pipped": 3}}, "pipped"),
        ({"day": day(1)}, "day"),
        ({"day": day(-8)}, "day"),
    ],
)
def test_what_cannot_have_been_found_is_refused(
    world: World, candled: EggSet, fields: dict[str, Any], field: str
):
    assert list(record_refused(world, candled, **fields)) == [field]


def test_what_was_found_before_leaves_fewer_to_find(world: World, candled: EggSet):
    record(world, candled, clear=39)

    said = record_refused(world, candled, counts={"quitter": 2})

    assert said == {"quitter": ["Of the 40 eggs only 1 is left for this. Enter no more."]}


def test_nothing_is_found_in_a_cancelled_set(world: World, candled: EggSet):
    egg_sets.cancel(world.by, egg_set_id=candled.pk)

    assert list(record_refused(world, candled)) == [""]


def test_the_same_entry_sent_twice_is_one(world: World, candled: EggSet):
    first = record(world, candled, key="phone-3", clear=5, quitter=1)
    again = record(world, candled, key="phone-3", clear=5, quitter=1)

    assert again == first
    assert EggEntry.objects.count() == 2


def test_eggs_left_over_are_opened_after_the_hatch_and_change_nothing_of_the_batch(
    world: World, candled: EggSet
):
    batch = hatches.record(
        on(world, 14), egg_set_id=candled.pk, day=day(14), hatched=20, expected_version=None
    )

    record(world, candled, offset=15, quitter=12, clear=8)

    assert hatching.row(candled, day(15)).left == 0
    assert heads.alive_on(batch, day(15)) == 20
    assert soundness.problems(world.farm) == []


def test_a_helper_may_candle_and_a_child_may_not(world: World, candled: EggSet):
    helper, child = (world.add_member(name, role) for name, role in (("Tom", "helper"), ("Mia", "child")))

    egg_entries.record(helper, egg_set_id=candled.pk, counts={"clear": 1}, day=TODAY)
    with pytest.raises(NotAllowed):
        egg_entries.record(child, egg_set_id=candled.pk, counts={"clear": 1}, day=TODAY)
    assert [entry.member for entry in EggEntry.objects.all()] == [helper.member]
