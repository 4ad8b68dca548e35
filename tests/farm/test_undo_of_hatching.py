"""Egg sets, hatches, intakes and machines taken back, and the taking back taken back: all is as it was each time."""

from __future__ import annotations

from typing import Any

import pytest

from farm.errors import BadInput, Stale
from farm.models import Batch, CountEntry, EggEntry, EggSet, HistoryEntry, Intake, Machine, Stay, Supplier
from farm.queries import heads, soundness, tally
from farm.services import counts, egg_entries, egg_sets, hatches, history, intakes, machines, stays, suppliers
from tests.conftest import TODAY, World
from tests.farm.egg_world import at, cabinet, chicks_from, day, on, put_in
from tests.farm.judging import newest


def farm_now(world: World) -> dict[str, Any]:
    """Return what the farm's records say, apart from versions and lines that cancel each other."""

    def rows(model: type) -> list[dict[str, Any]]:
        found = model._default_manager.order_by("pk").values()  # type: ignore[attr-defined]
        return [{name: value for name, value in row.items() if name != "version"} for row in found]

    ledgers = {
        batch.pk: [
            (line.kind, line.birds, line.day) for line in tally.standing(list(batch.count_entries.all()))
        ]
        for batch in Batch.objects.all()
    }
    models = (Batch, EggSet, EggEntry, Intake, Machine, Stay, Supplier)
    return {model.__name__: rows(model) for model in models} | {"ledgers": ledgers}


def undo(world: World, entry: HistoryEntry | None = None) -> HistoryEntry:
    done = history.undo(on(world, 30), entry_id=(entry or newest()).pk)
    assert soundness.problems(world.farm) == []
    return done


@pytest.fixture
def due(world: World) -> EggSet:
    """40 eggs set 21 days ago, 5 of them clear; their chicks are expected in Brooder 1 today, in Pen 1 in 8 weeks."""
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-21), housing_id=world.housing["Brooder 1"].pk)
    first = Stay.objects.get()
    stays.change(world.by, stay_id=first.pk, expected_version=None, end=day(56))
    pen = world.housing["Pen 1"].pk
    stays.add(world.by, batch_id=egg_set.batch.pk, housing_id=pen, birds=28, start=day(56), end=None)
    egg_entries.record(world.by, egg_set_id=egg_set.pk, counts={"clear": 5}, day=day(-14))
    return EggSet.objects.get()


ACTS = {
    "set": lambda world, due: put_in(
        world, Machine.objects.get(), 20, set_on=day(-21), housing_id=world.housing["Brooder 2"].pk
    ),
    "candled": lambda world, due: egg_entries.record(
        world.by, egg_set_id=due.pk, counts={"quitter": 20, "broken": 1}, day=TODAY
    ),
    "moved": lambda world, due: egg_sets.change(
        world.by, egg_set_id=due.pk, expected_version=None, set_on=day(-20), eggs=45
    ),
    "cancelled": lambda world, due: egg_sets.cancel(world.by, egg_set_id=due.pk),
    "hatched": lambda world, due: hatch(world, due, 30, culled=2, pipped=3),
    "hatched late elsewhere": lambda world, due: hatch(
        world, due, 33, offset=2, housing_id=world.housing["Brooder 2"].pk
    ),
    "all culled": lambda world, due: hatch(world, due, 3, culled=3),
    "none hatched": lambda world, due: hatch(world, due, 0, quitters=35),
    "machine": lambda world, due: cabinet(world, "Cabinet 2"),
    "machine changed": lambda world, due: machines.change(
        world.by, machine_id=due.setter_id, expected_version=None, medium_eggs=200
    ),
    "supplier": lambda world, due: suppliers.add(world.by, name="Mill Hatchery"),
    "chicks expected": lambda world, due: chicks_from(world, housing_id=world.housing["Brooder 2"].pk),
}


def hatch(world: World, egg_set: EggSet, hatched: int, *, offset: int = 0, **fields: Any) -> Batch | None:
    return hatches.record(
        on(world, offset),
        egg_set_id=egg_set.pk,
        day=day(offset),
        hatched=hatched,
        expected_version=None,
        **fields,
    )


@pytest.mark.parametrize("act", ACTS)
def test_what_was_done_with_eggs_is_taken_back_and_done_again(world: World, due: EggSet, act: str):
    before = farm_now(world)
    ACTS[act](world, due)
    done = farm_now(world)
    assert done != before

    undone = undo(world)
    assert farm_now(world) == before
    redone = undo(world, undone)
    assert farm_now(world) == done
    undo(world, redone)
    assert farm_now(world) == before


INTAKE_ACTS = {
    "moved": lambda world, intake: intakes.change(
        world.by, intake_id=intake.pk, expected_version=None, due_on=day(4), ordered=60
    ),
    "cancelled": lambda world, intake: intakes.cancel(world.by, intake_id=intake.pk),
    "arrived": lambda world, intake: intakes.arrive(
        on(world, 3), intake_id=intake.pk, arrived_at=at(3), alive=47, dead=2, weak=1, expected_version=None
    ),
    "none alive": lambda world, intake: intakes.arrive(
        on(world, 3), intake_id=intake.pk, arrived_at=at(3), alive=0, dead=50, expected_version=None
    ),
}


@pytest.mark.parametrize("act", INTAKE_ACTS)
def test_what_was_done_with_an_intake_is_taken_back_and_done_again(world: World, act: str):
    intake = chicks_from(world, due=2, housing_id=world.housing["Brooder 1"].pk)
    before = farm_now(world)
    INTAKE_ACTS[act](world, intake)
    done = farm_now(world)
    assert done != before

    undone = undo(world)
    assert farm_now(world) == before
    undo(world, undone)
    assert farm_now(world) == done


def test_a_hatch_taken_back_is_recorded_again_with_other_numbers(world: World, due: EggSet):
    hatch(world, due, 30, culled=2)
    undo(world)

    batch = hatch(world, due, 25, offset=1)

    standing = [(line.kind, line.birds, line.day) for line in tally.standing(list(batch.count_entries.all()))]
    assert standing == [("hatched", 25, day(1))]
    assert heads.alive_on(batch, day(1)) == 25
    assert soundness.problems(world.farm) == []


def test_a_hatch_whose_birds_were_counted_since_is_not_taken_back(world: World, due: EggSet):
    batch = hatch(world, due, 30)
    entry = newest()
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=1, day=TODAY)

    with pytest.raises(BadInput) as refused:
        history.undo(world.by, entry_id=entry.pk)

    assert "have been counted since" in str(refused.value)
    assert Batch.objects.get().expected is False
    counts.reverse(world.by, entry_id=CountEntry.objects.get(kind="died").pk)
    undo(world, entry)
    assert Batch.objects.get().expected


def test_a_set_that_was_candled_is_not_taken_back_before_the_candling(world: World, due: EggSet):
    made = HistoryEntry.objects.get(verb="set eggs")

    with pytest.raises(Stale):
        history.undo(world.by, entry_id=made.pk)
    assert EggSet.objects.get().batch is not None


def test_a_cancelled_set_does_not_come_back_into_a_machine_that_was_filled_since(world: World, due: EggSet):
    egg_sets.cancel(world.by, egg_set_id=due.pk)
    cancelled = newest()
    put_in(world, Machine.objects.get(), 60, set_on=day(-1))

    with pytest.raises(BadInput) as refused:
        history.undo(world.by, entry_id=cancelled.pk)

    assert list(refused.value.fields) == [""]
    assert EggSet.objects.get(pk=due.pk).state == "cancelled"


def test_a_machine_does_not_shrink_back_under_eggs_set_since(world: World, due: EggSet):
    machines.change(world.by, machine_id=due.setter_id, expected_version=None, medium_eggs=200)
    grown = newest()
    put_in(world, Machine.objects.get(), 150, set_on=day(-21))

    with pytest.raises(BadInput):
        history.undo(world.by, entry_id=grown.pk)
    assert Machine.objects.get().medium_eggs == 200
