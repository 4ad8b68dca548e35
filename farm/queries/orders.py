"""Orders as pages read them: each line with what was handed over, what is meant for it and how sure that is."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from farm.models import Batch, Farm, Filling, LineOdds, Order, OrderLine, OrderSeries
from farm.models.order import OrderStatus
from farm.phrase import N_, Phrase
from farm.planning import allotments as planning
from farm.queries import allotments, heads, lookup, supplies
from farm.queries.allotments import FarmAllotment

OPEN = (OrderStatus.QUOTE, OrderStatus.CONFIRMED)
EVERY = tuple(OrderStatus)


@dataclass(frozen=True, slots=True)
class Meant:
    """Birds of a batch meant for a line, to be handed over from `day` on."""

    batch: Batch
    birds: int
    day: date


@dataclass(frozen=True, slots=True)
class LineRow:
    """One line. given: birds handed over; left: still promised. odds: None where no birds are wanted any more, and in
    lists for quotes. overdue: its last day has passed with birds still promised."""

    line: OrderLine
    given: int
    left: int
    fillings: tuple[Filling, ...]
    meant: tuple[Meant, ...]
    odds: planning.LineOdds | None
    overdue: bool

    @property
    def warning(self) -> Phrase | None:
        """Return why it cannot be met as things stand; None when it can, or nothing is known."""
        return self.odds.reason if self.odds else None


@dataclass(frozen=True, slots=True)
class OrderRow:
    """One order with its lines, by their first day."""

    order: Order
    lines: tuple[LineRow, ...]

    @property
    def left(self) -> int:
        """Return the birds still promised."""
        return sum(line.left for line in self.lines)

    @property
    def first_on(self) -> date:
        """Return the first day of what is still promised, else of the order."""
        return min(
            (line.line.from_on for line in self.lines if line.left), default=self.lines[0].line.from_on
        )

    @property
    def chance(self) -> float | None:
        """Return the chance of the line least sure; None for an order that wants no birds."""
        return min((line.odds.chance for line in self.lines if line.odds), default=None)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A batch here that a line could get birds from. free: not held, nor meant for lines before it; meant: for it."""

    batch: Batch
    alive: int
    free: int
    meant: int
    age_days: int


@dataclass(frozen=True, slots=True)
class SeriesRow:
    """A series with its orders by day. coming: those still open whose day has not passed."""

    series: OrderSeries
    orders: tuple[Order, ...]
    coming: int


@dataclass(frozen=True, slots=True)
class Customer:
    """A name orders are under, and how many."""

    name: str
    orders: int


def listing(farm: Farm, today: date, statuses: Collection[str] = OPEN) -> list[OrderRow]:
    """Return the orders of these statuses by their first day. A steady number of queries."""
    found = allotments.for_farm(farm, today)
    rows = _rows(_orders(farm).filter(status__in=statuses), found, today)
    return sorted(rows, key=lambda row: (row.first_on, row.order.priority, row.order.pk))


def one(farm: Farm, order_id: int, today: date) -> OrderRow:
    """Return one order; a quote with the odds its lines would have if it were confirmed. Raises NotFound."""
    order = lookup.get(Order, farm_id=farm.pk, pk=order_id)
    quote = order if order.status == OrderStatus.QUOTE else None
    return next(_rows(_orders(farm).filter(pk=order.pk), allotments.for_farm(farm, today, quote), today))


def candidates(line: OrderLine, today: date) -> list[Candidate]:
    """Return the batches here that suit a line, those meant for it first, then those with most birds free."""
    found = allotments.for_farm(line.farm, today)
    here = [key for key, supply in found.supplies.items() if supply.live]
    rows = Batch.objects.filter(farm=line.farm, pk__in=here).prefetch_related("count_entries")
    meant = {int(share.supply): share.birds for share in found.shares(line.pk)}
    suiting = [
        Candidate(
            batch=row,
            alive=heads.alive_on(row, today),
            free=found.allotment.free_birds(str(row.pk), str(line.pk), today),
            meant=meant.get(row.pk, 0),
            age_days=(today - row.hatch_day).days,
        )
        for row in rows
        if supplies.suits(line, row)
    ]
    return sorted(suiting, key=lambda one: (-one.meant, -one.free, one.batch.pk))


def by_line(line_ids: Iterable[int]) -> dict[int, Order]:
    """Return the orders of lines, by the line's number."""
    rows = OrderLine.objects.filter(pk__in=list(line_ids)).select_related("order")
    return {row.pk: row.order for row in rows}


def went(line: OrderLine) -> list[LineOdds]:
    """Return how a line stood on each day it was written down, the oldest first."""
    return list(line.odds.order_by("day"))


def series(farm: Farm, today: date) -> list[SeriesRow]:
    """Return the farm's orders that repeat."""
    rows = OrderSeries.objects.filter(farm=farm).select_related("programme").prefetch_related("orders")
    return [_series(row, today) for row in rows]


def customers(farm: Farm) -> list[Customer]:
    """Return the names that orders and series are under now, by alphabet."""
    found: dict[str, int] = dict.fromkeys(
        OrderSeries.objects.filter(farm=farm).values_list("customer", flat=True), 0
    )
    for name in Order.objects.filter(farm=farm).values_list("customer", flat=True):
        found[name] = found.get(name, 0) + 1
    return [Customer(name, found[name]) for name in sorted(found, key=str.casefold)]


def called(line: OrderLine, birds: int) -> Phrase:
    """Return birds of a line as a keeper would call them: "40 birds to Meadow Farm: Brown layer chicken"."""
    return Phrase(
        N_("%(birds)d bird to %(customer)s: %(type)s"),
        {"birds": birds, "customer": line.order.customer, "type": Phrase(line.programme.name)},
        N_("%(birds)d birds to %(customer)s: %(type)s"),
        "birds",
    )


def _orders(farm: Farm) -> QuerySet[Order]:
    return (
        Order.objects.filter(farm=farm)
        .select_related("series")
        .prefetch_related("lines__programme", "lines__fillings__batch", "lines__fillings__member")
    )


def _rows(orders: Iterable[Order], found: FarmAllotment, today: date) -> Iterator[OrderRow]:
    batches = Batch.objects.in_bulk(list(found.supplies))
    for order in orders:
        yield OrderRow(order, tuple(_line(line, order, found, batches, today) for line in order.lines.all()))


def _line(
    line: OrderLine, order: Order, found: FarmAllotment, batches: dict[int, Batch], today: date
) -> LineRow:
    fillings = tuple(line.fillings.all())
    given = sum(filling.birds for filling in fillings)
    left = line.birds - given if order.status in OPEN else 0
    return LineRow(
        line=line,
        given=given,
        left=left,
        fillings=fillings,
        meant=tuple(
            Meant(batches[int(share.supply)], share.birds, share.day) for share in found.shares(line.pk)
        ),
        odds=found.odds(line.pk),
        overdue=left > 0 and line.to_on < today,
    )


def _series(row: OrderSeries, today: date) -> SeriesRow:
    orders = tuple(sorted(row.orders.all(), key=lambda order: order.series_on or order.ordered_on))
    coming = sum(
        order.status in OPEN and order.series_on is not None and order.series_on >= today for order in orders
    )
    return SeriesRow(row, orders, coming)
