"""The list of orders, and the page of one."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from farm.models import Farm
from farm.models.member import Role
from farm.models.order import OrderStatus
from farm.queries import allotments
from farm.queries import orders as read
from farm.queries.orders import LineRow, OrderRow
from farm.web.access import FarmRequest, farm_page
from farm.web.orders import course, wording
from farm.web.orders.course import Course

_OPEN, _QUOTES, _FILLED, _CANCELLED, _ALL = "open", "quotes", "filled", "cancelled", "all"
_MOST_OVER = 60  # orders that are over and shown at once

#: The filter of the list, in the order of its links.
SHOWN = {
    _OPEN: _("Open"),
    _QUOTES: _("Quotes"),
    _FILLED: _("Filled"),
    _CANCELLED: _("Cancelled"),
    _ALL: _("All"),
}
_STATUSES = {
    _OPEN: {OrderStatus.CONFIRMED.value},
    _QUOTES: {OrderStatus.QUOTE.value},
    _FILLED: {OrderStatus.FILLED.value},
    _CANCELLED: {OrderStatus.CANCELLED.value},
    _ALL: set(OrderStatus.values),
}


@dataclass(frozen=True, slots=True)
class Line:
    """A line as pages show it. likely, stands, band: its odds in words, "" without any. sure: as sure as the farm
    wants it. course: how its odds went, None where that is one day."""

    row: LineRow
    wants: str
    likely: str = ""
    stands: str = ""
    band: str = ""
    sure: bool = False
    course: Course | None = None


@dataclass(frozen=True, slots=True)
class Shown:
    """An order as pages show it. short: birds of it that no batch can give; `sure` when all its lines are."""

    row: OrderRow
    lines: tuple[Line, ...]

    @property
    def short(self) -> int:
        """Return the birds that no batch can give."""
        return sum(line.row.odds.short for line in self.lines if line.row.odds)

    @property
    def overdue(self) -> bool:
        """Say whether birds are late."""
        return any(line.row.overdue for line in self.lines)


@require_safe
@farm_page(Role.HELPER)
def listing(request: FarmRequest) -> HttpResponse:
    """Show the orders by date; `?show=quotes` filters, `?customer=` searches."""
    farm, today = request.visit.farm, request.visit.by.today
    every = read.listing(farm, today, read.EVERY)
    asked, wanted = request.GET.get("show", _OPEN), request.GET.get("customer", "").strip()
    asked = asked if asked in SHOWN else _OPEN
    found = [row for row in every if wanted.casefold() in row.order.customer.casefold()]
    counts = {key: sum(row.order.status in _STATUSES[key] for row in found) for key in SHOWN}
    rows = [row for row in found if row.order.status in _STATUSES[asked]]
    if asked in (_FILLED, _CANCELLED, _ALL):
        rows = rows[::-1][:_MOST_OVER]
    sure = allotments.confidence(farm)
    context = {
        "shown": [_order(row, sure) for row in rows],
        "choices": [(key, word, counts[key]) for key, word in SHOWN.items()],
        "show": asked,
        "customer": wanted,
        "any_order": bool(every),
        "today": today,
    }
    return render(request, "web/orders/orders.html", context)


@require_safe
@farm_page(Role.HELPER)
def page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one order: its lines, the birds meant for them, how sure that is and was, and what was handed over."""
    farm, today = request.visit.farm, request.visit.by.today
    row = read.one(farm, pk, today)
    shown = _order(row, allotments.confidence(farm), with_course=True)
    context = {"shown": shown, "order": row.order, "today": today, "status": _status_now(row)}
    return render(request, "web/orders/order.html", context)


def line_shown(row: LineRow, sure: float, *, with_course: bool = False) -> Line:
    """Return a line in words."""
    odds = row.odds
    wants = wording.wants(row.line)
    if odds is None:
        return Line(row, wants)
    return Line(
        row=row,
        wants=wants,
        likely=wording.likely(odds.chance),
        stands=wording.stands(odds),
        band=wording.band(odds),
        sure=odds.chance >= sure,
        course=course.draw(read.went(row.line)) if with_course else None,
    )


def _order(row: OrderRow, sure: float, *, with_course: bool = False) -> Shown:
    return Shown(row, tuple(line_shown(line, sure, with_course=with_course) for line in row.lines))


@dataclass(frozen=True, slots=True)
class Status:
    """What may be made of an order now. begun: birds were handed over."""

    begun: bool
    full: bool


def _status_now(row: OrderRow) -> Status:
    return Status(
        begun=any(line.given for line in row.lines),
        full=all(line.given >= line.line.birds for line in row.lines),
    )


def customers(farm: Farm) -> list[str]:
    """Return the names to suggest while a customer is typed."""
    return [one.name for one in read.customers(farm)]
