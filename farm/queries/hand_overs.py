"""What orders ask of the agenda: birds to be handed over, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from farm.models import Farm, OrderLine
from farm.models.order import OrderStatus
from farm.planning.agenda import AgendaHandOver
from farm.planning.allotments import Share
from farm.queries import allotments, orders
from farm.queries.allotments import FarmAllotment


def for_agenda(farm: Farm, today: date) -> tuple[AgendaHandOver, ...]:
    """Return what confirmed orders still lack; nothing of those filled or cancelled. One query where there are none."""
    rows = OrderLine.objects.filter(farm=farm, order__status=OrderStatus.CONFIRMED)
    lines = list(rows.select_related("order", "programme"))
    if not lines:
        return ()
    found = allotments.for_farm(farm, today)
    return tuple(_hand_over(line, found) for line in lines if line.pk in found.wanted)


def _hand_over(line: OrderLine, found: FarmAllotment) -> AgendaHandOver:
    shares, left = found.shares(line.pk), found.wanted[line.pk].birds
    return AgendaHandOver(
        key=str(line.pk),
        name=orders.called(line, left),
        birds=left,
        from_on=_first_day(line, shares, found),
        to_on=line.to_on,
        batch=shares[0].supply if len(shares) == 1 else None,
    )


def _first_day(line: OrderLine, shares: Sequence[Share], found: FarmAllotment) -> date:
    """Return the first day on which the birds meant for a line are there and old enough.

    Not later because today is: the step of a day keeps its mark.
    """
    youngest = timedelta(days=line.age_from_days)
    stock = [found.supplies[int(share.supply)] for share in shares]
    ready = [max(supply.from_on, supply.hatch_day + youngest) for supply in stock]
    return max(line.from_on, min(ready, default=line.from_on))
