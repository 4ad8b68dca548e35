"""What is in the store of one feed, from its ledger: how much, of what age, and which bag is open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from farm.husbandry.feeding import shelf
from farm.husbandry.feeding.cost import Lot
from farm.models import Feed, FeedEntry
from farm.models.feed import FeedKind
from farm.queries import tally
from farm.trade.general import figure

GRAMS = 1000  # in a kilogram


@dataclass(frozen=True, slots=True)
class Heap:
    """Feed of one buying that is still unopened: kg, when it was milled (known or reckoned) and until when it keeps."""

    kg: float
    milled_on: date
    told: bool
    keeps_until: date
    entry: FeedEntry


@dataclass(frozen=True, slots=True)
class Opened:
    """What was opened last: all bags of one day, in kg, and the line of the ledger that says so."""

    day: date
    kg: float
    entry: FeedEntry


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the ledger. kg: without its sign; after_kg: what was unopened after it; struck: taken back."""

    entry: FeedEntry
    kg: float
    after_kg: float
    struck: bool

    @property
    def price(self) -> float | None:
        """Return its price in money."""
        return None if self.entry.price_cents is None else self.entry.price_cents / 100


def ledger(entries: Sequence[FeedEntry]) -> list[Line]:
    """Return the lines, newest first, each with what was unopened after it."""
    standing = {entry.pk for entry in tally.standing(entries)}
    total, found = 0, []
    for entry in entries:
        total += entry.grams
        found.append(Line(entry, abs(entry.grams) / GRAMS, total / GRAMS, entry.pk not in standing))
    return found[::-1]


def grams(entries: Sequence[FeedEntry], until: date | None = None) -> int:
    """Return the unopened grams at the end of a day, or by all lines."""
    return sum(entry.grams for entry in entries if until is None or entry.day <= until)


def first_day_below_zero(
    entries: Sequence[FeedEntry], adding: tuple[date, int] | None = None
) -> tuple[date, int] | None:
    """Return the first day on which there would be less than none, and the grams it would then come to; else None.

    adding: a day and signed grams judged as if they stood in the ledger already.
    """
    by_day: dict[date, int] = {}
    for day, amount in [*((entry.day, entry.grams) for entry in entries), *([adding] if adding else [])]:
        by_day[day] = by_day.get(day, 0) + amount
    total = 0
    for day, change in sorted(by_day.items()):
        total += change
        if total < 0:
            return day, total
    return None


def keeps_days(feed: Feed, mean_c: float | None = None) -> int:
    """Return the days a feed keeps from milling: its own, or as usual where its store is so many °C on the mean."""
    return feed.keeps_days if feed.keeps_days is not None else shelf.keeps_days(mean_c)


def age_days(feed: Feed, mean_c: float | None = None) -> int:
    """Return how old feed is reckoned to be when it is bought: as usual, but never too old already."""
    return min(int(figure("feed", "feed_age_days")), keeps_days(feed, mean_c) - 1)


def heaps(feed: Feed, entries: Sequence[FeedEntry], mean_c: float | None = None) -> list[Heap]:
    """Return what is unopened by age, oldest first: what was bought first is taken to be opened first."""
    left = grams(entries)
    found = []
    gains = [entry for entry in tally.standing(entries) if entry.grams > 0]
    for entry in sorted(gains, key=lambda each: (each.day, each.pk), reverse=True):
        there = min(left, entry.grams)
        if there > 0:
            milled = entry.milled_on or entry.day - timedelta(days=age_days(feed, mean_c))
            keeps = milled + timedelta(days=keeps_days(feed, mean_c))
            found.append(Heap(there / GRAMS, milled, entry.milled_on is not None, keeps, entry))
            left -= there
    return sorted(found, key=lambda heap: heap.keeps_until)


def opened(entries: Sequence[FeedEntry]) -> Opened | None:
    """Return the bags opened last, None when none ever was."""
    lines = [entry for entry in tally.standing(entries) if entry.kind == FeedKind.OPENED]
    if not lines:
        return None
    last = max(entry.day for entry in lines)
    same = [entry for entry in lines if entry.day == last]
    return Opened(last, -sum(entry.grams for entry in same) / GRAMS, max(same, key=lambda each: each.pk))


def lots(entries: Sequence[FeedEntry]) -> list[Lot]:
    """Return what came into the store with its price: what was found when counting anew has none."""
    return [
        Lot(entry.day, entry.grams, entry.price_cents) for entry in tally.standing(entries) if entry.grams > 0
    ]


def lost(entries: Sequence[FeedEntry]) -> list[tuple[date, int]]:
    """Return the days and grams of what spoiled or was missing when counted anew: nobody ate it."""
    kinds = (FeedKind.SPOILED, FeedKind.CORRECTION)
    return [
        (entry.day, -entry.grams)
        for entry in tally.standing(entries)
        if entry.kind in kinds and entry.grams < 0
    ]
