"""The store at a glance, and the page of one feed with its ledger."""

from __future__ import annotations

import secrets
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.husbandry.feeding import shelf
from farm.models import Feed
from farm.phrase import Phrase
from farm.queries import feed as read
from farm.queries import feed_shopping, feed_store, lookup
from farm.queries.feed import Sheet
from farm.trade import species
from farm.trade.cautions import cautions
from farm.web.access import FarmRequest, farm_page
from farm.web.feed import stock

_LIST_DAYS = 28  # what is bought in one go; project default (judgement)
_CAUTIONS = ("medicated", "ionophore", "drugs")


@dataclass(frozen=True, slots=True)
class Age:
    """Feed of one age in the store, and what to do about it."""

    heap: feed_store.Heap
    words: Phrase
    state: str


@require_safe
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """Show what is in the store, how long it lasts, what to order by when, and what is missing."""
    visit = request.visit
    sheet = read.for_farm(visit.farm, visit.by.today)
    buying = feed_shopping.listed(sheet, _LIST_DAYS)
    context = {
        "stocks": stock.stocks(sheet),
        "missing": sheet.missing,
        "next": _next(buying),
        "today": visit.by.today,
        "key": secrets.token_urlsafe(12),  # with a feed's number: a press sent twice is one line
        "share": round(100 * next((row.run.share for row in sheet.rows if row.run), 0)),
    }
    return render(request, "web/feed/feed.html", context)


@require_safe
@farm_page()
def page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one feed: how long it lasts, of what age it is, who eats it, and its ledger."""
    visit = request.visit
    lookup.get(Feed, farm_id=visit.farm.pk, pk=pk)
    sheet = read.for_farm(visit.farm, visit.by.today)
    shown = next(each for each in stock.stocks(sheet) if each.row.feed.pk == pk)
    context = {
        "stock": shown,
        "feed": shown.row.feed,
        "names": [species.species()[name].name for name in shown.row.feed.species],
        "today": visit.by.today,
        "ages": _ages(shown, sheet),
        "ledger": feed_store.ledger(list(shown.row.entries)),
        "buying": [each for each in feed_shopping.listed(sheet, _LIST_DAYS) if each.row.feed.pk == pk],
        "cautions": [cautions()[key] for key in _CAUTIONS] if shown.row.feed.medicated else [],
        "key": secrets.token_urlsafe(12),
        "share": round(100 * shown.row.run.share) if shown.row.run else 0,
        "usual": shown.row.factor.likely,
        "low": shown.row.factor.interval()[0],
        "high": shown.row.factor.interval()[1],
    }
    return render(request, "web/feed/page.html", context)


def _next(buying: list[feed_shopping.Buying]) -> list[feed_shopping.Buying]:
    """Return the first purchase of each feed."""
    found: dict[int, feed_shopping.Buying] = {}
    for each in buying:
        found.setdefault(each.row.feed.pk, each)
    return list(found.values())


def _ages(shown: stock.Stock, sheet: Sheet) -> list[Age]:
    keeps = feed_store.keeps_days(shown.row.feed, sheet.demand.store_c)
    return [
        Age(
            heap,
            shelf.words(heap.milled_on, sheet.today, own_days=keeps),
            shelf.state(heap.milled_on, sheet.today, own_days=keeps),
        )
        for heap in shown.row.heaps
    ]
