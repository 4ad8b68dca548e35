"""Eggs and chicks from elsewhere on the demo farm, so that their pages have something to show. All invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from farm.models import EggSet, Machine
from farm.services import egg_entries, egg_sets, hatches, housings, intakes, machines, suppliers
from farm.services.actor import Actor
from farm.services.demo import Planted
from farm.services.egg_sets import NewEggSet
from farm.services.intakes import NewIntake


def set_eggs(demo: Planted) -> None:
    """Add an incubator, a setter and a hatcher with sets in every state, a supplier, and chicks come and to come."""
    room = housings.add(
        _ago(demo, 40), name="Chick room", kind="brooder", area_m2=90.0, heated=True, max_age_gap_days=60
    )
    small = machines.add(demo.by, name="Cabinet 1", does="both", medium_eggs=60, large_eggs=40)
    setter = machines.add(demo.by, name="Setter", does="setter", medium_eggs=180, turns_itself=False)
    hatcher = machines.add(demo.by, name="Hatcher", does="hatcher", medium_eggs=90)

    early = _set(demo, "Spring eggs", 48, -22, small, room.pk, origin="Marta's own hens")
    egg_entries.record(
        _ago(demo, 14), egg_set_id=early.pk, counts={"clear": 4, "early_dead": 1}, day=_day(demo, -14)
    )
    hatches.record(
        demo.by,
        egg_set_id=early.pk,
        day=_day(demo, -1),
        hatched=37,
        culled=1,
        quitters=3,
        expected_version=early.version,
    )
    now = _set(demo, "E2", 90, -11, setter, room.pk, hatcher, stored_days=9)
    egg_entries.record(
        _ago(demo, 4), egg_set_id=now.pk, counts={"clear": 8, "early_dead": 3}, day=_day(demo, -4)
    )
    _set(demo, "E3", 60, -20, setter, room.pk, hatcher)
    _set(demo, "E4", 50, 2, small, room.pk)
    _set(demo, "E5", 70, 5, setter, room.pk, hatcher)

    mill = suppliers.add(demo.by, name="Mill Hatchery", types=["chicken_meat"], weekdays=[1, 3], minimum=25)
    intakes.expect(
        demo.by,
        new=_chicks(mill.pk, 30, demo, 6, housing_id=room.pk, extras=1, hatched_at=_ago(demo, -5).now),
    )
    came = intakes.expect(_ago(demo, 12), new=_chicks(mill.pk, 25, demo, -9, housing_id=room.pk))
    intakes.arrive(
        _ago(demo, 9),
        intake_id=came.pk,
        arrived_at=_ago(demo, 9).now,
        hatched_at=_ago(demo, 10).now,
        alive=24,
        dead=1,
        weak=2,
        expected_version=came.version,
    )


def _set(
    demo: Planted, name: str, eggs: int, offset: int, setter: Machine, room: int,
    hatcher: Machine | None = None, **fields: Any,
) -> EggSet:  # fmt: skip
    new = NewEggSet(
        programme="chicken_dual",
        name=name,
        eggs=eggs,
        set_on=_day(demo, offset),
        setter_id=setter.pk,
        hatcher_id=hatcher.pk if hatcher else None,
        housing_id=room,
        **fields,
    )
    return egg_sets.set_eggs(_ago(demo, max(0, -offset)), new=new)


def _chicks(supplier: int, ordered: int, demo: Planted, offset: int, **fields: Any) -> NewIntake:
    fields = {"programme": "chicken_meat", "due_on": _day(demo, offset)} | fields
    return NewIntake(ordered=ordered, supplier_id=supplier, **fields)


def _day(demo: Planted, offset: int) -> Any:
    return demo.by.today + timedelta(days=offset)


def _ago(demo: Planted, days: int) -> Actor:
    """Return the keeper so many days ago."""
    now: datetime = demo.by.now - timedelta(days=days)
    return replace(demo.by, now=now, today=_day(demo, -days))
