"""The pick-up list of a day: who comes for which birds, where those are, and what already went; made to be printed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.models import Batch, Farm, Filling, Order
from farm.models.member import Role
from farm.models.order import OrderStatus
from farm.queries import heads
from farm.queries import orders as read
from farm.queries.orders import LineRow, Meant
from farm.web.access import FarmRequest, farm_page
from farm.web.orders import wording


@dataclass(frozen=True, slots=True)
class Source:
    """Birds meant for a line, and the housing their batch is in on the day."""

    meant: Meant
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pickup:
    """A line that may be handed over on the day, or is overdue. lacking: birds that no batch can give."""

    order: Order
    row: LineRow
    wants: str
    sources: tuple[Source, ...]

    @property
    def lacking(self) -> int:
        """Return the birds still promised that none are meant for."""
        return self.row.left - sum(source.meant.birds for source in self.sources)


@require_safe
@farm_page(Role.HELPER)
def page(request: FarmRequest) -> HttpResponse:
    """Show the pick-up list of `?day=`, of today without one."""
    farm, today = request.visit.farm, request.visit.by.today
    day = _day(request.GET.get("day", "")) or today
    found = list(_pickups(farm, day, today))
    context = {
        "day": day,
        "today": today,
        "earlier": day - timedelta(days=1),
        "later": day + timedelta(days=1),
        "pickups": [one for one in found if not one.row.line.to_on < day],
        "late": [one for one in found if one.row.line.to_on < day],
        "gone": Filling.objects.filter(farm=farm, day=day).select_related("batch", "line__order"),
        "birds": sum(one.row.left for one in found),
    }
    return render(request, "web/orders/pickups.html", context)


def _pickups(farm: Farm, day: date, today: date) -> Iterator[Pickup]:
    for order_row in read.listing(farm, today, (OrderStatus.CONFIRMED,)):
        for row in order_row.lines:
            late = row.overdue and day >= today
            if row.left and (row.line.from_on <= day <= row.line.to_on or late):
                sources = tuple(Source(meant, _places(meant.batch, day)) for meant in row.meant)
                yield Pickup(order_row.order, row, wording.wants(row.line), sources)


def _places(batch: Batch, day: date) -> tuple[str, ...]:
    return tuple(stay.housing.name for stay, _birds in heads.places_on(batch, day)[0])


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
