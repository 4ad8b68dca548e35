"""How long the feed in store lasts, and when to order more."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from farm.husbandry.feeding.factor import FarmFactor
from farm.trade.general import figure

EVERY_DAY = frozenset(range(7))
#: kg that rounding may be off by: far less than a beakful.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class RunOut:
    """The first day that what is in store does not fully feed: likely, and early to late with the chance `share`.

    None where it lasts beyond the window that was asked about.
    """

    early: date | None
    likely: date | None
    late: date | None
    share: float


@dataclass(frozen=True, slots=True)
class OrderBy:
    """When to order, and the delivery day that leaves the margin. overdue: that delivery cannot be had any more."""

    order_on: date
    delivered_on: date
    overdue: bool


def run_out(
    stock_kg: float,
    table_kg: NDArray[np.float64],
    first_day: date,
    factor: FarmFactor,
    coming: Mapping[date, float] = MappingProxyType({}),
) -> RunOut:
    """Return when the store runs out.

    stock_kg: in store on the morning of `first_day`, which is best the day the last bag was opened: then the store was
    known, and what may have gone since is in the band. table_kg: what is eaten of this feed on each day, by the tables
    and the cold. coming: kg delivered on the morning of a day. The band holds what is not known of the factor and how
    far one fortnight differs from the next; birds sold or dying sooner than `table_kg` reckons are not in it.
    Raises ValueError for a stock below 0.
    """
    if stock_kg < 0:
        raise ValueError("stock_kg must not be below 0")
    had = np.full(len(table_kg), float(stock_kg))
    for day, kg in coming.items():
        had[max((day - first_day).days, 0) :] += kg
    share, spread = figure("feed", "band_probability"), figure("feed", "alike_spread")
    used = np.cumsum(table_kg)

    def day_of(times: float) -> date | None:
        short = times * used > had + _ROUNDING
        return first_day + timedelta(days=int(np.argmax(short))) if short.any() else None

    return RunOut(
        early=day_of(factor.quantile((1 + share) / 2, spread)),
        likely=day_of(factor.likely),
        late=day_of(factor.quantile((1 - share) / 2, spread)),
        share=share,
    )


def order_by(
    run: RunOut, today: date, lead_days: int | None = None, weekdays: Collection[int] = EVERY_DAY
) -> OrderBy | None:
    """Return when to order so that feed is there in good time, or None where the store lasts.

    Delivered by the likely day less the spare days, or by the early day if that is sooner, then back to the last of
    `weekdays` (0 Monday to 6 Sunday): never after. lead_days: from order to delivery, the table's unless given.
    Raises ValueError for no weekday or a negative lead.
    """
    lead = int(figure("feed", "lead_days")) if lead_days is None else lead_days
    if lead < 0 or not set(weekdays) & EVERY_DAY:
        raise ValueError("needs a lead of 0 days or more and a weekday of delivery")
    if run.early is None:
        return None
    delivered = run.early
    if run.likely is not None:
        delivered = min(delivered, run.likely - timedelta(days=int(figure("feed", "spare_days"))))
    while delivered.weekday() not in weekdays:
        delivered -= timedelta(days=1)
    order_on = delivered - timedelta(days=lead)
    return OrderBy(order_on, delivered, overdue=order_on < today)
