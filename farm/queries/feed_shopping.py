"""What feed to buy for the weeks ahead, and when to order it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from farm.husbandry.feeding import lasting, shopping
from farm.husbandry.feeding.lasting import OrderBy, RunOut
from farm.husbandry.feeding.shopping import Purchase
from farm.queries import feed_store
from farm.queries.feed import Row, Sheet


@dataclass(frozen=True, slots=True)
class Buying:
    """One line of a shopping list: what to buy, and when to order it."""

    row: Row
    purchase: Purchase
    order: OrderBy


def listed(sheet: Sheet, days: int) -> list[Buying]:
    """Return what to buy for the coming days, by the day to order it. Feeds without a ledger are left out."""
    found = []
    for row in sheet.rows:
        if not (row.buys and row.counted):
            continue
        use = row.table_kg(sheet.demand.window.days)[sheet.now : sheet.now + days] * row.factor.likely
        feed, mean_c = row.feed, sheet.demand.store_c
        purchases = shopping.shopping(
            use,
            sheet.today,
            _stores(row, sheet.today),
            feed.bag_kg,
            mean_c,
            feed_store.age_days(feed, mean_c),
            feed_store.keeps_days(feed, mean_c),
        )
        for number, purchase in enumerate(purchases):
            order = row.order if number == 0 and row.order else _order_for(purchase, row, sheet.today)
            found.append(Buying(row, purchase, order))
    return sorted(found, key=lambda each: (each.order.order_on, each.row.feed.name))


def _stores(row: Row, today: date) -> list[shopping.Store]:
    stores = [shopping.Store(heap.kg, heap.keeps_until) for heap in row.heaps]
    if row.rest_kg > 0:
        keeps = min([heap.keeps_until for heap in row.heaps if heap.keeps_until > today], default=date.max)
        stores.append(shopping.Store(row.rest_kg, keeps))
    return stores


def _order_for(purchase: Purchase, row: Row, today: date) -> OrderBy:
    needed = RunOut(purchase.needed_on, purchase.needed_on, purchase.needed_on, 1.0)
    found = lasting.order_by(
        needed, today, row.feed.lead_days, row.feed.delivery_weekdays or lasting.EVERY_DAY
    )
    assert found is not None  # it has a day it is needed on
    return found
