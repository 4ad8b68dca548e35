"""Feed in the store against what is eaten: how long each lasts, what to order by when, and what nobody thought of."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from farm.husbandry.feeding import factor as learning
from farm.husbandry.feeding import lasting, sharing
from farm.husbandry.feeding.factor import FarmFactor, Opening
from farm.husbandry.feeding.lasting import OrderBy, RunOut
from farm.husbandry.feeding.sharing import Serving
from farm.models import Batch, Farm, Feed, FeedEntry
from farm.models.feed import FeedKind
from farm.planning.window import Window
from farm.queries import feed_kinds, feed_past, feed_store, feed_use, tally
from farm.queries.feed_kinds import Key
from farm.queries.feed_store import Heap, Opened
from farm.queries.feed_use import Demand
from farm.trade import species

Array = NDArray[np.float64]
AHEAD_DAYS = 56  # how far ahead stock is looked at; project default (judgement)
_BACK_DAYS = 400  # how far back bags still teach; project default (judgement)


@dataclass(frozen=True, slots=True)
class Row:
    """One feed on a day.

    entries: its ledger. opened: the bag opened last, rest_kg what is likely left of it, empty_on the day it is likely
    used up. run, order: None where it lasts, where nothing is recorded yet, or where another feed is bought instead.
    use: by kind of eater, kg a day of the sheet's window by the tables. old: what is in store and too old today.
    """

    feed: Feed
    entries: tuple[FeedEntry, ...]
    heaps: tuple[Heap, ...]
    opened: Opened | None
    rest_kg: float
    empty_on: date | None
    factor: FarmFactor
    bags: tuple[learning.Emptied, ...]
    use: Mapping[Key, Array]
    buys: bool
    run: RunOut | None
    order: OrderBy | None
    eaters: tuple[Batch, ...]

    @property
    def unopened_kg(self) -> float:
        """Return what stands unopened in the store."""
        return sum(heap.kg for heap in self.heaps)

    @property
    def counted(self) -> bool:
        """Say whether anything was ever recorded of it."""
        return bool(self.entries)

    def table_kg(self, days: int) -> Array:
        """Return what is eaten of it on each day by the tables."""
        found = np.zeros(days)
        for kg in self.use.values():
            found += kg
        return found


@dataclass(frozen=True, slots=True)
class Missing:
    """A kind of feed that is eaten soon, and none in the store serves it. from_day: the first day it is eaten."""

    key: Key
    from_day: date
    batches: tuple[Batch, ...]

    @property
    def species(self) -> str:
        """Return the untranslated name of the species."""
        return species.species()[self.key[0]].name

    @property
    def kind(self) -> str:
        """Return the name of the phase."""
        return self.key[1]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A farm's feed on a day. demand: over a window that begins with the first line of any ledger."""

    today: date
    demand: Demand
    rows: tuple[Row, ...]
    missing: tuple[Missing, ...]

    @property
    def now(self) -> int:
        """Return the column of today."""
        return self.demand.window.index(self.today)


def for_farm(farm: Farm, today: date, ahead_days: int = AHEAD_DAYS) -> Sheet:
    """Return the feed of a farm. A steady number of queries, however many feeds and batches."""
    feeds = list(Feed.objects.filter(farm=farm).prefetch_related("entries__reversed_by", "entries__member"))
    ledgers = {feed.pk: list(feed.entries.all()) for feed in feeds}
    days = [entry.day for lines in ledgers.values() for entry in lines]
    start = max(min([today, *days]), today - timedelta(days=_BACK_DAYS))
    window = Window(start, (today - start).days + ahead_days)
    demand = feed_use.of(farm, window, today)
    totals, now = demand.totals(), window.index(today)
    past = feed_past.shared(totals, feeds, ledgers, window, now)
    belief = {feed.pk: _learned(ledgers[feed.pk], past.get(feed.pk, {}), window) for feed in feeds}
    ahead = _ahead(totals, feeds, ledgers, belief, past, demand, today)
    bought = _bought(totals, feeds, ledgers)
    rows = tuple(
        _row(feed, ledgers[feed.pk], belief[feed.pk], _joined(past, ahead, feed.pk, now), demand, today)
        for feed in feeds
    )
    return Sheet(
        today,
        demand,
        tuple(_judged(row, row.feed.pk in bought.values(), demand, today) for row in rows),
        tuple(_missing(totals, bought, demand, now)),
    )


def _learned(
    entries: Sequence[FeedEntry], use: Mapping[Key, Array], window: Window
) -> tuple[FarmFactor, tuple[learning.Emptied, ...]]:
    """Return the farm's factor for one feed, from its bags, and those bags."""
    openings = [
        Opening(entry.day, -entry.grams / feed_store.GRAMS)
        for entry in tally.standing(entries)
        if entry.kind == FeedKind.OPENED
    ]
    table = sum(use.values(), np.zeros(window.days))
    bags = tuple(learning.emptied(openings, table, window.start))
    return learning.learned(learning.prior(), bags), bags


def _ahead(
    totals: Mapping[Key, Array],
    feeds: Sequence[Feed],
    ledgers: Mapping[int, Sequence[FeedEntry]],
    belief: Mapping[int, tuple[FarmFactor, tuple[learning.Emptied, ...]]],
    past: Mapping[int, Mapping[Key, Array]],
    demand: Demand,
    today: date,
) -> dict[int, dict[Key, Array]]:
    """Return what is eaten of each feed from today on: the oldest in store first."""
    now = demand.window.index(today)
    servings = []
    for feed in sorted(feeds, key=lambda each: _oldest(each, ledgers[each.pk], demand.store_c)):
        factor = belief[feed.pk][0]
        table = sum(past.get(feed.pk, {}).values(), np.zeros(demand.window.days))
        rest, _empty = _rest(feed_store.opened(ledgers[feed.pk]), table, factor, demand.window, today)
        heaps = feed_store.heaps(feed, ledgers[feed.pk], demand.store_c)
        kg = rest + sum(heap.kg for heap in heaps if heap.keeps_until > today)
        keys = frozenset(key for key in totals if feed_kinds.serves(feed, key))
        servings.append(Serving(feed.pk, keys, kg / factor.likely))
    wanted = {key: kg[now:] for key, kg in totals.items()}
    return sharing.shared(wanted, servings, _bought(totals, feeds, ledgers))


def _oldest(feed: Feed, entries: Sequence[FeedEntry], store_c: float | None) -> tuple[date, int]:
    heaps = feed_store.heaps(feed, entries, store_c)
    return min((heap.keeps_until for heap in heaps), default=date.max), feed.pk


def _bought(
    totals: Iterable[Key], feeds: Sequence[Feed], ledgers: Mapping[int, Sequence[FeedEntry]]
) -> dict[Key, int]:
    """Return by kind of eater the feed that is bought for it: the one bought last, else the one added first."""

    def last(feed: Feed) -> tuple[int, date, int]:
        days = [e.day for e in tally.standing(ledgers[feed.pk]) if e.kind == FeedKind.BOUGHT]
        return len(days) and 1, max(days, default=date.min), -feed.pk

    found = {}
    for key in totals:
        serving = [feed for feed in feeds if feed_kinds.serves(feed, key)]
        if serving:
            found[key] = max(serving, key=last).pk
    return found


def _joined(
    past: Mapping[int, Mapping[Key, Array]],
    ahead: Mapping[int, Mapping[Key, Array]],
    feed: int,
    now: int,
) -> dict[Key, Array]:
    found = {key: kg.copy() for key, kg in past.get(feed, {}).items()}
    for key, kg in ahead.get(feed, {}).items():
        whole = found.setdefault(key, np.zeros(now + len(kg)))
        whole[now:] = kg
    return found


def _rest(
    opened: Opened | None, table: Array, factor: FarmFactor, window: Window, today: date
) -> tuple[float, date | None]:
    """Return what is likely left of the open bag this morning, and the day it is likely used up."""
    if opened is None:
        return 0.0, None
    start = max(window.index(opened.day), 0)
    used = np.cumsum(table[start:]) * factor.likely
    gone = used[window.index(today) - start - 1] if window.index(today) > start else 0.0
    empty = np.flatnonzero(used >= opened.kg)
    return max(opened.kg - float(gone), 0.0), window.day(start + int(empty[0])) if len(empty) else None


def _row(
    feed: Feed,
    entries: list[FeedEntry],
    learned: tuple[FarmFactor, tuple[learning.Emptied, ...]],
    use: Mapping[Key, Array],
    demand: Demand,
    today: date,
) -> Row:
    window, factor = demand.window, learned[0]
    opened = feed_store.opened(entries)
    rest, empty = _rest(opened, sum(use.values(), np.zeros(window.days)), factor, window, today)
    return Row(
        feed=feed,
        entries=tuple(entries),
        heaps=tuple(feed_store.heaps(feed, entries, demand.store_c)),
        opened=opened,
        rest_kg=rest,
        empty_on=empty,
        factor=factor,
        bags=learned[1],
        use=use,
        buys=False,
        run=None,
        order=None,
        eaters=tuple(_eaters(use, demand, window.index(today))),
    )


def _eaters(use: Mapping[Key, Array], demand: Demand, now: int) -> Iterable[Batch]:
    """Yield the batches that eat of a feed from today on."""
    keys = {key for key, kg in use.items() if kg[now:].any()}
    for number, parts in demand.by_batch.items():
        if any(key in keys and kg[now:].any() for key, kg in parts.items()):
            yield demand.batches[number]


def _judged(row: Row, buys: bool, demand: Demand, today: date) -> Row:
    """Return a row with its run-out: from the day the open bag was opened, when the store was known best."""
    if not row.counted:
        return replace(row, buys=buys)
    window = demand.window
    since = row.opened.day if row.opened and row.opened.day >= window.start else today
    there = sum(heap.kg for heap in row.heaps if heap.keeps_until > today)
    there += row.opened.kg if row.opened and since == row.opened.day else 0.0
    run = lasting.run_out(there, row.table_kg(window.days)[window.index(since) :], since, row.factor)
    weekdays = row.feed.delivery_weekdays or lasting.EVERY_DAY
    order = lasting.order_by(run, today, row.feed.lead_days, weekdays) if buys else None
    return replace(row, buys=buys, run=run, order=order)


def _missing(
    totals: Mapping[Key, Array], bought: Mapping[Key, int], demand: Demand, now: int
) -> Iterable[Missing]:
    for key, kg in totals.items():
        days = np.flatnonzero(kg[now:])
        if key not in bought and len(days):
            batches = [
                demand.batches[number]
                for number, parts in demand.by_batch.items()
                if key in parts and parts[key][now:].any()
            ]
            yield Missing(key, demand.window.day(now + int(days[0])), tuple(batches))
