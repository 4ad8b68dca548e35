"""Orders for tests: one line of 20 brown layers of any age, from three to six days ahead, unless a test says more."""

from __future__ import annotations

from typing import Any

from farm.models import Filling, Order, OrderLine
from farm.services import fillings, orders
from farm.services.orders import NewLine, NewOrder
from tests.conftest import TODAY, World
from tests.farm.judging import day


def line(**fields: Any) -> NewLine:
    usual = {
        "programme": "chicken_layer_brown",
        "birds": 20,
        "from_on": day(3),
        "to_on": day(6),
        "age_from_days": 0,
        "age_to_days": 400,
    }
    return NewLine(**{**usual, **fields})


def again(known: OrderLine, **fields: Any) -> NewLine:
    """Return a line as the form of its order would send it back, with what was typed over it."""
    names = ("birds", "from_on", "to_on", "age_from_days", "age_to_days", "sex", "breed")
    same = {name: getattr(known, name) for name in names}
    return line(**{**same, "line_id": known.pk, **fields})


def take(world: World, *lines: NewLine, customer: str = "Meadow Farm", **fields: Any) -> Order:
    """Take an order of these lines, of one usual line when none is named."""
    return orders.add(world.by, new=NewOrder(customer=customer, lines=lines or (line(),), **fields))


def give(world: World, order: Order, batch: Any, birds: int, **fields: Any) -> Filling:
    """Hand birds over for the order's first line, today."""
    first = order.lines.order_by("pk")[0]
    fields = {"day": TODAY, **fields}
    return fillings.hand_over(world.by, line_id=first.pk, batch_id=batch.pk, birds=birds, **fields)


def status(order: Order) -> str:
    return Order.objects.get(pk=order.pk).status
