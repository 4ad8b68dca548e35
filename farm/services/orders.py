"""Orders: birds promised to customers, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Order
from farm.models.member import Role
from farm.models.order import OrderStatus
from farm.queries import lookup
from farm.services import batch_rules, order_rules, order_state, stale
from farm.services.actor import Actor
from farm.services.order_fields import NewLine, NewOrder, write_lines
from farm.services.writing import Log, write

__all__ = ["NewLine", "NewOrder", "add", "add_in", "change", "remove", "set_status"]

_CHANGEABLE = frozenset({"customer", "priority", "deposit", "notes", "ordered_on"})


def add(by: Actor, *, new: NewOrder) -> Order:
    """Take an order, a quote or confirmed. Raises BadInput; a line's fields are named "lines-0-birds"."""
    with write(by, "add order", role=Role.KEEPER) as log:
        order = add_in(log, new)
        log.says(order, _("Order of %(customer)s added") % {"customer": order})
    return order


def add_in(log: Log, new: NewOrder, **series: Any) -> Order:
    """Take an order inside an open write. series: the columns `series` and `series_on` of one that repeats."""
    order_rules.check_new_status(new.status)
    batch_rules.check_typed(log.by.today, ordered_on=new.ordered_on)
    order = Order(
        farm=log.farm,
        customer=new.customer.strip(),
        status=new.status,
        priority=new.priority,
        deposit=new.deposit.strip(),
        notes=new.notes,
        ordered_on=new.ordered_on or log.by.today,
        **series,
    )
    log.add(order)
    write_lines(log, order, new.lines)
    return order


def change(
    by: Actor,
    *,
    order_id: int,
    expected_version: int | None,
    lines: Sequence[NewLine] | None = None,
    **fields: Any,
) -> Order:
    """Change an order: any of customer, priority, deposit, notes, ordered_on; its lines when given, all of them.

    One that came from a series stands by itself from then on. Raises Stale, BadInput.
    """
    if not fields.keys() <= _CHANGEABLE:
        raise TypeError(f"not an order's own words: {sorted(fields.keys() - _CHANGEABLE)}")
    with write(by, "change order", role=Role.KEEPER) as log:
        order = lookup.get(Order, farm_id=by.farm_id, pk=order_id)
        stale.check(order, expected_version)
        fields |= {name: fields[name].strip() for name in ("customer", "deposit") if name in fields}
        if fields.get("ordered_on", order.ordered_on) != order.ordered_on:
            batch_rules.check_typed(by.today, ordered_on=fields["ordered_on"])
        differs = log.change(order, **fields)
        differs_lines = lines is not None and write_lines(log, order, lines)
        if differs or differs_lines:
            _stands_alone(log, order)
            order_state.settle(log, order, reopen=differs_lines)
            log.says(order, _("Order of %(customer)s changed") % {"customer": order})
    return order


def set_status(by: Actor, *, order_id: int, status: str, expected_version: int | None) -> Order:
    """Confirm an order, make it a quote, call it filled although birds lack ("enough"), cancel it or open it again.

    Birds handed over stay handed over. Raises Stale, BadInput at status.
    """
    with write(by, "set order status", role=Role.KEEPER) as log:
        order = lookup.get(Order, farm_id=by.farm_id, pk=order_id)
        stale.check(order, expected_version)
        if status == order.status:
            return order
        order_rules.check_status(order, status)
        log.change(order, status=status)
        order_state.settle(log, order)
        log.says(
            order,
            _("Order of %(customer)s: now %(status)s")
            % {"customer": order, "status": OrderStatus(order.status).label},
        )
    return order


def remove(by: Actor, *, order_id: int, expected_version: int | None = None) -> None:
    """Remove a quote. Raises BadInput for any other order: cancel it, and what was promised stays known; Stale."""
    with write(by, "remove order", role=Role.KEEPER) as log:
        order = lookup.get(Order, farm_id=by.farm_id, pk=order_id)
        stale.check(order, expected_version)
        if order.status != OrderStatus.QUOTE or order.series_id is not None:
            raise BadInput.at("", _("Only a quote can be removed. Cancel this order instead."))
        log.says(order, _("Quote for %(customer)s removed") % {"customer": order})
        remove_in(log, order)


def remove_in(log: Log, order: Order) -> None:
    """Remove an order nothing was handed over for, with its lines, inside an open write."""
    for line in order.lines.all():
        order_rules.check_removable(line)
        log.remove(line)
    log.remove(order)


def _stands_alone(log: Log, order: Order) -> None:
    """Let the order's version rise also when only its lines changed; its series no longer rewrites it."""
    alone = order.series_id is not None
    log.change(order, alone=alone, version=order.version + 1)
