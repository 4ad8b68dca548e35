"""What follows for an order from birds handed over or taken back: it is filled, or open again."""

from __future__ import annotations

from collections.abc import Iterable

from farm.models import Change, CountEntry, Filling, Order
from farm.models.order import OrderStatus
from farm.services import order_rules
from farm.services.writing import Log


def settle(log: Log, order: Order, *, reopen: bool = False) -> None:
    """Close a confirmed order whose lines are all full. reopen: fewer birds, or more wanted; one not full opens."""
    if order.status == OrderStatus.CONFIRMED and order_rules.is_full(order):
        log.change(order, status=OrderStatus.FILLED)
    elif reopen and order.status == OrderStatus.FILLED and not order_rules.is_full(order):
        log.change(order, status=OrderStatus.CONFIRMED)


def release(log: Log, entry: CountEntry) -> None:
    """Take the hand-over that a count entry stands for off its order, because the entry is being taken back."""
    for filling in Filling.objects.filter(count_entry=entry).select_related("line__order"):
        order = filling.line.order
        log.remove(filling)
        settle(log, order, reopen=True)


def settle_undone(log: Log, changes: Iterable[Change]) -> None:
    """Close or open the orders whose lines or hand-overs an undo put back: birds may have gone to them meanwhile."""
    lines = set()
    for change in changes:
        if change.model == "orderline":
            lines.add(change.row)
        elif change.model == "filling":
            lines.add((change.before or change.after or {})["line_id"])
    for order in Order.objects.filter(farm=log.farm, lines__in=lines).distinct():
        settle(log, order, reopen=True)
