"""Whether birds may be handed over, and if not, what is left: said at the fields of the hand-over."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput
from farm.models import Batch, OrderLine
from farm.models.order import OrderStatus
from farm.queries import allotments, heads, supplies
from farm.services import batch_rules, day_rules, order_rules


def check(line: OrderLine, batch: Batch, birds: int, day: date, today: date, *, anyway: bool) -> None:
    """Raise BadInput unless `birds` of `batch` may go to `line` on `day`. Call it under the farm's lock.

    anyway: birds meant for orders that come first may go too.
    """
    _check_order(line)
    _check_batch(line, batch)
    _check_day(batch, day, today)
    lacking = line.birds - order_rules.handed_over(line)
    if not 1 <= birds <= lacking:
        raise BadInput.at(
            "birds",
            _("Enter a number from 1 to %(most)d: so many are still to be handed over for this line.")
            % {"most": lacking},
        )
    _check_left(line, batch, birds, day, today, anyway=anyway)


def _check_order(line: OrderLine) -> None:
    status = line.order.status
    if status == OrderStatus.QUOTE:
        raise BadInput.at("line_id", _("This order is only a quote. Confirm it first."))
    if status != OrderStatus.CONFIRMED:
        raise BadInput.at(
            "line_id",
            _("This order is %(status)s. Open it again first.") % {"status": OrderStatus(status).label},
        )


def _check_batch(line: OrderLine, batch: Batch) -> None:
    try:
        batch_rules.refuse_expected(batch)
    except BadInput as refused:
        raise BadInput.at("batch_id", str(refused)) from refused
    if not supplies.suits(line, batch):
        raise BadInput.at(
            "batch_id",
            _("These are other birds than the order says. Choose another batch, or change the order first."),
        )


def _check_day(batch: Batch, day: date, today: date) -> None:
    if day > today:
        raise BadInput.at("day", _("This day is still to come; record it when it has happened."))
    if day < batch.arrived_on:
        shown = day_rules.shown(batch.arrived_on)
        raise BadInput.at("day", _("The batch only arrives on %(day)s.") % {"day": shown})


def _check_left(line: OrderLine, batch: Batch, birds: int, day: date, today: date, *, anyway: bool) -> None:
    """Raise BadInput, saying what is left, when fewer are alive from `day` on, or free of holds and earlier orders."""
    alive = max(0, heads.least_alive_from(batch, day))
    free = max(0, min(alive, alive - supplies.held_from(line, supplies.holds(batch))))
    if not anyway:
        free = min(free, allotments.free_birds(line, batch, today))
    if birds <= free:
        return
    left = ngettext("%(left)d bird of %(batch)s is left", "%(left)d birds of %(batch)s are left", free) % {
        "left": free,
        "batch": batch,
    }
    why = _("%(alive)d alive, the others are held back or meant for orders that come first") % {
        "alive": alive
    }
    raise BadInput.at("birds", f"{left} ({why})." if alive > free else f"{left}.")
