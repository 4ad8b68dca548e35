"""Eggs and chicks to come for tests that stand in the small named world; days are counted from TODAY."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from farm.models import EggSet, Intake, Machine
from farm.services import egg_sets, intakes, machines
from farm.services.actor import Actor
from tests.conftest import NOON, TODAY, World, actor
from tests.farm import judging
from tests.farm.judging import day

__all__ = ["at", "cabinet", "chicks_from", "day", "on", "put_in", "refused"]


def at(offset: int, hours: int = 0) -> datetime:
    """Return noon of a day, or so many hours later."""
    return NOON + timedelta(days=offset, hours=hours)


def on(world: World, offset: int) -> Actor:
    """Return the keeper on another day."""
    return actor(world.farm, world.keeper, now=at(offset))


def cabinet(world: World, name: str = "Cabinet 1", **fields: Any) -> Machine:
    """Return a new incubator for 60 hens' eggs that eggs are set and hatch in."""
    return machines.add(world.by, name=name, **{"does": "both", "medium_eggs": 60} | fields)


def put_in(
    world: World, machine: Machine, eggs: int = 40, *, by: Actor | None = None, **fields: Any
) -> EggSet:
    """Return a new set of brown layers' eggs, set today: they hatch in 21 days, 20 at the earliest."""
    fields = {"programme": "chicken_layer_brown", "set_on": TODAY} | fields
    new = egg_sets.NewEggSet(eggs=eggs, setter_id=machine.pk, **fields)
    return egg_sets.set_eggs(by or world.by, new=new)


def chicks_from(world: World, ordered: int = 50, *, due: int = 10, **fields: Any) -> Intake:
    """Return a new intake of brown layers by post."""
    fields = {"programme": "chicken_layer_brown", "from_whom": "Mill Hatchery"} | fields
    return intakes.expect(world.by, new=intakes.NewIntake(ordered=ordered, due_on=day(due), **fields))


def refused(act: Callable[..., object], *args: Any, **fields: Any) -> dict[str, list[str]]:
    """Return what a service says when it is called so, having checked that nothing at all was saved."""
    return judging.refused(lambda: act(*args, **fields))
