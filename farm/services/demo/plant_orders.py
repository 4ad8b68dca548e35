"""Plants the demo's orders: open ones, a quote, one handed over, and one that repeats."""

from __future__ import annotations

from farm.models import Batch, Order
from farm.services import fillings, holds, orders, series
from farm.services.actor import Actor
from farm.services.demo.scene_orders import (
    FILLED,
    FILLED_FROM,
    FILLED_ON,
    HOLD,
    HOLD_IN,
    ORDERS,
    SERIES,
    SERIES_FIRST,
    SERIES_LAST,
    DemoOrder,
)
from farm.services.demo.when import at, day


def plant_orders(by: Actor) -> None:
    """Plant orders after the batches they are filled from."""
    for scene in ORDERS:
        _order(by, scene)
    line = _order(by, FILLED).lines.get()
    batch = Batch.objects.get(farm_id=by.farm_id, name=FILLED_FROM)
    on = at(by, FILLED_ON)
    fillings.hand_over(on, line_id=line.pk, batch_id=batch.pk, birds=FILLED.birds, day=on.today)
    series.add(
        at(by, -2),
        new=series.NewSeries(first_on=day(by, SERIES_FIRST), last_on=day(by, SERIES_LAST), **SERIES),
    )
    held = Batch.objects.get(farm_id=by.farm_id, name=HOLD_IN)
    holds.add(by, batch_id=held.pk, **HOLD)


def _order(by: Actor, scene: DemoOrder) -> Order:
    line = orders.NewLine(
        programme=scene.programme,
        birds=scene.birds,
        sex=scene.sex,
        age_from_days=scene.ages[0],
        age_to_days=scene.ages[1],
        from_on=day(by, scene.days[0]),
        to_on=day(by, scene.days[1]),
    )
    new = orders.NewOrder(
        customer=scene.customer,
        status=scene.status,
        priority=scene.priority,
        deposit=scene.deposit,
        lines=[line],
    )
    return orders.add(at(by, scene.ordered_on), new=new)
