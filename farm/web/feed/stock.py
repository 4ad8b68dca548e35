"""How long each feed lasts, as bars of days. Pure: rows in, numbers for the drawing out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from farm.queries.feed import Row, Sheet

WIDTH, HEIGHT = 360.0, 42.0
_WEEK = 7


@dataclass(frozen=True, slots=True)
class Bar:
    """A feed's days. sure: until when it surely lasts; late: when it surely is out; both as x, WIDTH being the end."""

    sure: float
    likely: float | None
    late: float
    order: float | None
    weeks: tuple[tuple[float, date], ...]

    width, height = WIDTH, HEIGHT

    @property
    def doubt(self) -> float:
        """Return how wide the days are on which it may be out or not."""
        return round(self.late - self.sure, 1)


@dataclass(frozen=True, slots=True)
class Stock:
    """A row of the page. daily_kg: what likely goes of it a day this week. ends_on: after it nobody eats it.

    state: "unknown", "out", "soon", "lasts" or "idle" (nobody eats it).
    """

    row: Row
    bar: Bar | None
    daily_kg: float
    ends_on: date | None
    state: str
    too_old_kg: float
    until: date


def stocks(sheet: Sheet) -> list[Stock]:
    """Return the rows of the page: what runs out first comes first, what nobody eats last."""
    found = [_stock(row, sheet) for row in sheet.rows]
    order = ("out", "soon", "unknown", "lasts", "idle")
    return sorted(found, key=lambda each: (order.index(each.state), _first(each), each.row.feed.name))


def _first(stock: Stock) -> date:
    run = stock.row.run
    return (run and (run.likely or run.early)) or date.max


def _stock(row: Row, sheet: Sheet) -> Stock:
    ahead = row.table_kg(sheet.demand.window.days)[sheet.now :] * row.factor.likely
    eaten = np.flatnonzero(ahead)
    last = sheet.today + timedelta(days=int(eaten[-1])) if len(eaten) else None
    return Stock(
        row=row,
        bar=_bar(row, sheet) if row.run and len(eaten) else None,
        daily_kg=float(ahead[:_WEEK].mean()) if len(ahead) else 0.0,
        ends_on=last if last and last < sheet.demand.window.end - timedelta(days=1) else None,
        state=_state(row, sheet.today, eats=bool(len(eaten))),
        too_old_kg=sum(heap.kg for heap in row.heaps if heap.keeps_until <= sheet.today),
        until=sheet.demand.window.end - timedelta(days=1),
    )


def _state(row: Row, today: date, *, eats: bool) -> str:
    if not eats:
        return "idle"
    if row.run is None:
        return "unknown"
    if row.run.likely is not None and row.run.likely <= today:
        return "out"
    return "soon" if row.run.early is not None else "lasts"


def _bar(row: Row, sheet: Sheet) -> Bar:
    assert row.run is not None
    days = (sheet.demand.window.end - sheet.today).days

    def x(day: date | None) -> float:
        ahead = days if day is None else min(max((day - sheet.today).days, 0), days)
        return round(WIDTH * ahead / days, 1)

    return Bar(
        sure=x(row.run.early),
        likely=x(row.run.likely) if row.run.likely else None,
        late=x(row.run.late),
        order=x(row.order.order_on) if row.order else None,
        weeks=tuple(_weeks(sheet.today, days)),
    )


def _weeks(today: date, days: int) -> Iterable[tuple[float, date]]:
    for ahead in range(0, days, 2 * _WEEK):
        yield round(WIDTH * ahead / days, 1), today + timedelta(days=ahead)
