"""Small farms with a plan to be had, and how tests work one out."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest

from farm.models import HistoryEntry, Plan, Stay
from farm.services import plans, solving, stays
from tests.conftest import NOON, TODAY, World


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


class Ticking:
    """A clock that goes on by a second each time it is read."""

    def __init__(self, at: datetime = NOON) -> None:
        self.at = at

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at


def crowded(world: World) -> World:
    """40 chicks of 14 days in Brooder 2 (2 m²) until they leave: they outgrow it; Brooder 1 and Pen 1 are empty."""
    world.add_batch("Reds", birds=40, age=14, housing="Brooder 2", leaves_on=day(60))
    return world


def solved(world: World, *, iterations: int = 40, **asked: object) -> Plan:
    """Return a proposal worked out."""
    plan = plans.propose(world.by, **asked)
    assert solving.run(plan_id=plan.pk, now=Ticking(), iterations=iterations) == "ready"
    plan.refresh_from_db()
    return plan


def adopted(world: World, plan: Plan) -> object:
    return plans.adopt(world.by, plan_id=plan.pk, seen_version=plan.version)


def lived(world: World) -> list[tuple]:
    """Return the farm's stays as (batch, housing, first day, end, birds, pinned), days counted from TODAY."""
    rows = Stay.objects.filter(farm=world.farm).select_related("batch", "housing")
    return sorted(
        (
            str(row.batch),
            str(row.housing),
            (row.start - TODAY).days,
            None if row.end is None else (row.end - TODAY).days,
            row.birds,
            row.pinned,
        )
        for row in rows
    )


def plan_stay(
    world: World, batch: object, housing: str, start: int, end: int | None, **fields: object
) -> Stay:
    fields = {"birds": 40} | fields
    return stays.add(
        world.by,
        batch_id=batch.pk,
        housing_id=world.housing[housing].pk,
        start=day(start),
        end=None if end is None else day(end),
        **fields,
    )


def refused(world: World, plan: Plan, error: type[Exception], **changed: Any) -> Any:
    """Return the refusal of an adoption, having checked that it wrote nothing."""
    before, told, state = lived(world), HistoryEntry.objects.count(), plan.state
    asked = {"plan_id": plan.pk, "seen_version": plan.version} | changed
    with pytest.raises(error) as raised:
        plans.adopt(asked.pop("by", world.by), **asked)
    plan.refresh_from_db()
    assert (lived(world), HistoryEntry.objects.count(), plan.state) == (before, told, state)
    return raised.value
