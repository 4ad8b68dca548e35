"""What must hold of an order and its lines, said in words at their fields when it does not."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput
from farm.models import Order, OrderLine
from farm.models.order import OrderStatus
from farm.services import day_rules

#: status -> what a keeper may make of it by hand.
_NEXT: dict[str, frozenset[str]] = {
    OrderStatus.QUOTE: frozenset({OrderStatus.CONFIRMED, OrderStatus.CANCELLED}),
    OrderStatus.CONFIRMED: frozenset({OrderStatus.QUOTE, OrderStatus.FILLED, OrderStatus.CANCELLED}),
    OrderStatus.FILLED: frozenset({OrderStatus.CONFIRMED}),
    OrderStatus.CANCELLED: frozenset({OrderStatus.QUOTE, OrderStatus.CONFIRMED}),
}


def handed_over(line: OrderLine) -> int:
    """Return the birds already handed over for a line; none for one not yet saved."""
    return sum(filling.birds for filling in line.fillings.all()) if line.pk else 0


def is_full(order: Order) -> bool:
    """Say whether every line of the order has all its birds."""
    return all(
        handed_over(line) >= line.birds for line in OrderLine.objects.filter(order=order).order_by("pk")
    )


def check_line(line: OrderLine, old: OrderLine | None, today: date) -> None:
    """Raise BadInput, all fields at once, for a line as it is to be; `old`: as it stands, None for a new one.

    Days that stand already may have passed. Numbers outside what is sensible are the model's to refuse.
    """
    problems: dict[str, list[object]] = {}
    typed = [
        name for name in ("from_on", "to_on") if old is None or getattr(line, name) != getattr(old, name)
    ]
    for name in typed:
        problems[name] = day_rules.typo(getattr(line, name), today)
    if typed and not problems.get("to_on") and line.from_on <= line.to_on < today:
        problems["to_on"] = [_("These days have passed. Choose days that are still to come.")]
    gone = handed_over(line)
    if gone > line.birds:
        problems["birds"] = [
            ngettext(
                "%(gone)d bird was handed over already.", "%(gone)d birds were handed over already.", gone
            )
            % {"gone": gone}
        ]
    if old is not None and gone and (line.programme_id, line.sex) != (old.programme_id, old.sex):
        problems["programme"] = [_("Birds were handed over for this line. Add a line for other birds.")]
    found = {name: texts for name, texts in problems.items() if texts}
    if found:
        raise BadInput(found)


def check_removable(line: OrderLine) -> None:
    """Raise BadInput for a line that birds were handed over for."""
    if handed_over(line):
        raise BadInput.at(
            "lines", _("Birds were handed over for a line that is gone. Keep the line, or take them back.")
        )


def check_status(order: Order, status: str) -> None:
    """Raise BadInput when the order cannot be given this status by hand."""
    if status not in _NEXT[order.status]:
        raise BadInput.at("status", _("This order cannot be changed to that any more. Look at it again."))
    anything = any(handed_over(line) for line in order.lines.all())
    if status == OrderStatus.FILLED and not anything:
        raise BadInput.at("status", _("Nothing was handed over yet. Cancel the order if it is off."))
    if status == OrderStatus.QUOTE and anything:
        raise BadInput.at("status", _("Birds were handed over already, so this is no quote any more."))
    if order.status == OrderStatus.FILLED and is_full(order):
        raise BadInput.at("status", _("Every line has all its birds. Raise a line to promise more."))


def check_new_status(status: str) -> None:
    """Raise BadInput for an order that does not begin as a quote or confirmed."""
    if status not in (OrderStatus.QUOTE, OrderStatus.CONFIRMED):
        raise BadInput.at("status", _("A new order is a quote or confirmed."))
