"""What is in the store of a feed, how long it lasts, and what to buy, as the API shows them."""

from __future__ import annotations

from typing import Any, Literal

from ninja import Field, Schema

from api.core.shapes import Day
from farm import wording
from farm.queries import feed_shopping
from farm.queries.feed import Row, Sheet
from farm.queries.feed_shopping import Buying
from farm.queries.feed_store import Heap
from farm.web.feed.stock import Stock


class FeedRunOutOut(Schema):
    """The first day that what is in store does not fully feed. Null: it lasts longer than was looked ahead."""

    early: Day | None
    likely: Day | None
    late: Day | None
    share: float = Field(description="Chance that it is from early to late, 0 to 1.")


class FeedOrderByOut(Schema):
    """When to order so that it is there in good time."""

    order_on: Day
    delivered_on: Day
    overdue: bool = Field(description="That delivery cannot be had any more.")


class FeedHeapOut(Schema):
    """Unopened feed of one buying."""

    kg: float
    milled_on: Day
    told: bool = Field(description="The day of milling was told; else it is reckoned.")
    keeps_until: Day = Field(description="First day it is too old to feed.")


class FeedStoreOut(Schema):
    """What there is of a feed. Amounts that birds eat are estimates."""

    state: Literal["out", "soon", "unknown", "lasts", "idle"] = Field(
        description="Unknown: nothing is recorded yet. Idle: nobody eats it in the coming 8 weeks."
    )
    unopened_kg: float
    heaps: list[FeedHeapOut]
    opened_on: Day | None = Field(description="When the bag opened last was opened.")
    rest_kg: float = Field(description="What is likely left of the bag opened last.")
    too_old_kg: float
    daily_kg: float = Field(description="What likely goes of it a day this week, waste included.")
    last_eaten_on: Day | None = Field(description="Null: longer than 8 weeks, or nobody eats it.")
    factor: float = Field(
        description="How many kg go for each kg the tables say is eaten; learned from bags."
    )
    eaters: list[int] = Field(description="Numbers of the batches that eat of it.")
    run_out: FeedRunOutOut | None
    order: FeedOrderByOut | None = Field(description="Null: it lasts, or another feed is bought instead.")


class FeedUseOut(Schema):
    """What likely goes of a feed, waste included."""

    feed_id: int
    feed: str
    kg: list[float] = Field(description="On each day from `since` on.")
    run_out: FeedRunOutOut | None


class FeedPurchaseOut(Schema):
    """One line of the shopping list."""

    feed_id: int
    feed: str
    needed_on: Day
    bags: int
    bag_kg: float
    kg: float
    eaten_kg: float = Field(description="What of it is eaten before it is too old or the days end.")
    fed_until: Day
    capped: bool = Field(description="More will be eaten, but it would be too old by then.")
    words: str
    order: FeedOrderByOut


class FeedMissingOut(Schema):
    """A kind of feed that is eaten soon, and no feed of the farm serves it."""

    species: str
    kind: str
    from_day: Day
    batches: list[int]


class FeedForecastOut(Schema):
    """The weeks ahead. Birds are reckoned with until their batch leaves; sales to come are not."""

    since: Day
    until: Day = Field(description="Not included.")
    use: list[FeedUseOut]
    shopping: list[FeedPurchaseOut] = Field(
        description="By the day to order. Feeds without a ledger are left out."
    )
    missing: list[FeedMissingOut]


def store(found: Stock) -> dict[str, Any]:
    """Return what there is of a feed."""
    row = found.row
    return {
        "state": found.state,
        "unopened_kg": row.unopened_kg,
        "heaps": [_heap(heap) for heap in row.heaps],
        "opened_on": row.opened.day if row.opened else None,
        "rest_kg": row.rest_kg,
        "too_old_kg": found.too_old_kg,
        "daily_kg": found.daily_kg,
        "last_eaten_on": found.ends_on,
        "factor": row.factor.likely,
        "eaters": [batch.pk for batch in row.eaters],
        "run_out": _run_out(row),
        "order": row.order,
    }


def forecast(sheet: Sheet, days: int, units: str) -> dict[str, Any]:
    """Return the coming days of a farm's feed."""
    window = sheet.demand.window
    return {
        "since": sheet.today,
        "until": window.end,
        "use": [_use(row, sheet) for row in sheet.rows],
        "shopping": [_purchase(one, units) for one in feed_shopping.listed(sheet, days)],
        "missing": [
            {
                "species": one.key[0],
                "kind": one.kind,
                "from_day": one.from_day,
                "batches": [batch.pk for batch in one.batches],
            }
            for one in sheet.missing
        ],
    }


def _heap(heap: Heap) -> dict[str, Any]:
    return {name: getattr(heap, name) for name in FeedHeapOut.model_fields}


def _run_out(row: Row) -> dict[str, Any] | None:
    return None if row.run is None else {name: getattr(row.run, name) for name in FeedRunOutOut.model_fields}


def _use(row: Row, sheet: Sheet) -> dict[str, Any]:
    kg = row.table_kg(sheet.demand.window.days)[sheet.now :] * row.factor.likely
    return {
        "feed_id": row.feed.pk,
        "feed": row.feed.name,
        "kg": [round(float(one), 4) for one in kg],
        "run_out": _run_out(row),
    }


def _purchase(one: Buying, units: str) -> dict[str, Any]:
    own = ("needed_on", "bags", "bag_kg", "kg", "eaten_kg", "fed_until", "capped")
    return {name: getattr(one.purchase, name) for name in own} | {
        "feed_id": one.row.feed.pk,
        "feed": one.row.feed.name,
        "words": wording.say(one.purchase.words, units),
        "order": one.order,
    }
