"""Orders by week: what is promised, what will be there for it, and which birds nobody has asked for yet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.models import Batch, Order, OrderLine
from farm.models.member import Role
from farm.planning.allotments import DayRow, SpareOdds
from farm.queries import allotments
from farm.queries.allotments import FarmAllotment
from farm.web.access import FarmRequest, farm_page
from farm.web.board.choice import WEEKS, Choice, choose

BAR, HEIGHT = 300.0, 26.0  # drawing units: the length of the fullest week's bar, and its height
_DAYS = 7


@dataclass(frozen=True, slots=True)
class Share:
    """An order that falls due in a week with so many birds; short: those of them that no batch can give."""

    order: Order
    birds: int
    short: int


@dataclass(frozen=True, slots=True)
class Week:
    """A week from `first` to `last`. expected, low, high: birds really given; x of each in drawing units.

    low and high are the sums of the days': as if good and bad luck came together, so rather too wide than too narrow.
    """

    first: date
    last: date
    now: bool
    promised: int
    expected: float
    low: int
    high: int
    short: int
    shares: tuple[Share, ...]
    promised_x: float
    expected_x: float
    low_x: float
    high_x: float


@dataclass(frozen=True, slots=True)
class Spare:
    """Birds of a batch that are neither held nor promised. age_days: on the first day they could be given."""

    batch: Batch
    odds: SpareOdds
    age_days: int

    @property
    def expected(self) -> int:
        """Return the birds expected, rounded."""
        return round(self.odds.expected)


@require_safe
@farm_page(Role.HELPER)
def page(request: FarmRequest) -> HttpResponse:
    """Show the weeks asked for, and the birds that are spare."""
    farm, today = request.visit.farm, request.visit.by.today
    choice = choose(request.GET, today, farm.first_weekday)
    found = allotments.for_farm(farm, today)
    weeks = draw(found, choice, today)
    context = {
        "weeks": WEEKS,
        "choice": choice,
        "rows": weeks,
        "any": any(week.promised for week in weeks),
        "spare": spare(found),
        "bar": BAR,
        "height": HEIGHT,
    }
    return render(request, "web/orders/weeks.html", context)


def draw(found: FarmAllotment, choice: Choice, today: date) -> tuple[Week, ...]:
    """Return the weeks of the choice with their bars."""
    days = found.allotment.by_day(choice.window)
    parts = [days[start : start + _DAYS] for start in range(0, len(days), _DAYS)]
    top = max(max(_promised(part), sum(day.high for day in part)) for part in parts) or 1
    due = _due(found)
    return tuple(_week(part, due, BAR / top, today) for part in parts)


def spare(found: FarmAllotment) -> list[tuple[str, list[Spare]]]:
    """Return the spare birds by type, those that are ready first."""
    rows = Batch.objects.select_related("programme_version__programme").in_bulk(list(found.supplies))
    by_type: dict[str, list[Spare]] = {}
    for pk, row in rows.items():
        odds = found.spare(pk)
        if odds is not None and round(odds.expected):
            name = row.programme_version.programme.name
            by_type.setdefault(name, []).append(Spare(row, odds, (odds.from_on - row.hatch_day).days))
    return [
        (name, sorted(by_type[name], key=lambda one: (one.odds.from_on, one.batch.pk)))
        for name in sorted(by_type)
    ]


def _week(days: Sequence[DayRow], due: dict[date, dict[int, Share]], scale: float, today: date) -> Week:
    promised, expected = _promised(days), sum(day.expected for day in days)
    low, high = sum(day.low for day in days), sum(day.high for day in days)
    return Week(
        first=days[0].day,
        last=days[-1].day,
        now=days[0].day <= today <= days[-1].day,
        promised=promised,
        expected=expected,
        low=low,
        high=high,
        short=sum(day.short for day in days),
        shares=_together(due.get(day.day, {}).values() for day in days),
        promised_x=round(promised * scale, 1),
        expected_x=round(expected * scale, 1),
        low_x=round(low * scale, 1),
        high_x=round(high * scale, 1),
    )


def _promised(days: Iterable[DayRow]) -> int:
    return sum(day.promised for day in days)


def _due(found: FarmAllotment) -> dict[date, dict[int, Share]]:
    """Return the orders of each day with the birds that fall due, by number."""
    lines = OrderLine.objects.select_related("order").in_bulk(list(found.wanted))
    rows: dict[date, dict[int, Share]] = {}

    def add(line_key: str, day: date, birds: int, short: int) -> None:
        order = lines[int(line_key)].order
        before = rows.setdefault(day, {}).get(order.pk, Share(order, 0, 0))
        rows[day][order.pk] = Share(order, before.birds + birds, before.short + short)

    for share in found.allotment.shares:
        add(share.wanted, share.day, share.birds, 0)
    for key, lack in found.allotment.lacking().items():
        add(key, lack.day, lack.birds, lack.birds)
    return rows


def _together(days: Iterable[Iterable[Share]]) -> tuple[Share, ...]:
    """Return each order once, in the order of its first day."""
    found: dict[int, Share] = {}
    for share in (one for day in days for one in day):
        before = found.get(share.order.pk, Share(share.order, 0, 0))
        found[share.order.pk] = Share(share.order, before.birds + share.birds, before.short + share.short)
    return tuple(found.values())
