"""Plants the demo's machines, egg sets and intake, each write dated to its own day."""

from __future__ import annotations

from datetime import timedelta

from farm.models import Batch, EggSet, Housing, Machine
from farm.services import batches, egg_entries, egg_sets, hatches, housings, intakes, machines, suppliers
from farm.services.actor import Actor
from farm.services.demo.scene_eggs import EGG_SETS, HOUSING, INTAKE, MACHINES, SUPPLIER, DemoEggs
from farm.services.demo.when import at, day


def plant_eggs(by: Actor) -> None:
    """Plant machines with their egg sets, and the chicks expected from elsewhere."""
    long_ago = at(by, -70)
    for fields in HOUSING:
        housings.add(long_ago, kind="brooder", heated=True, **fields)
    made = {fields["name"]: machines.add(long_ago, **fields) for fields in MACHINES}
    for scene in EGG_SETS:
        _set(by, scene, made)
    _expect(by)


def _set(by: Actor, scene: DemoEggs, made: dict[str, Machine]) -> None:
    then = at(by, scene.set_on)
    egg_set = egg_sets.set_eggs(
        then,
        new=egg_sets.NewEggSet(
            programme=scene.programme,
            breed=scene.breed,
            eggs=scene.eggs,
            set_on=day(by, scene.set_on),
            setter_id=made["Cabinet"].pk,
            hatcher_id=made["Hatcher"].pk,
            stored_days=scene.stored_days,
            storage="cellar, 14 °C, turned daily",
            origin="our own flock (invented)",
            housing_id=_housing(by, scene.housing).pk,
        ),
    )
    _leaves(then, egg_set.batch, scene.leaves_age)
    for after, found in scene.candled:
        on = at(by, scene.set_on + after)
        egg_entries.record(on, egg_set_id=egg_set.pk, counts=found, day=on.today)
    if scene.hatched is not None:
        _hatch(by, egg_set, scene.hatched)


def _hatch(by: Actor, egg_set: EggSet, hatched: tuple[int, dict[str, int]]) -> None:
    assert egg_set.batch is not None
    on = at(by, (egg_set.batch.hatch_day - by.today).days)
    chicks, besides = hatched
    hatches.record(on, egg_set_id=egg_set.pk, day=on.today, hatched=chicks, expected_version=None, **besides)


def _leaves(then: Actor, batch: Batch | None, age_days: int) -> None:
    assert batch is not None
    batch.refresh_from_db()
    batches.change(
        then,
        batch_id=batch.pk,
        expected_version=None,
        leaves_on=batch.hatch_day + timedelta(days=age_days),
    )


def _expect(by: Actor) -> None:
    then = at(by, -5)
    supplier = suppliers.add(then, **SUPPLIER)
    due = day(by, INTAKE.due_on)
    while due.weekday() not in SUPPLIER["weekdays"]:
        due += timedelta(days=1)
    intake = intakes.expect(
        then,
        new=intakes.NewIntake(
            name=INTAKE.name,
            programme=INTAKE.programme,
            ordered=INTAKE.ordered,
            extras=INTAKE.extras,
            due_on=due,
            supplier_id=supplier.pk,
            housing_id=_housing(by, INTAKE.housing).pk,
            **INTAKE.fields,
        ),
    )
    _leaves(then, intake.batch, INTAKE.leaves_after)


def _housing(by: Actor, name: str) -> Housing:
    return Housing.objects.get(farm_id=by.farm_id, name=name)
