"""What feed costs, by batch: lots eaten first in, first out, in whole cents and grams, so that nothing is lost.

Every cent of a lot that is eaten up lands on some batch, exactly once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Lot:
    """Feed bought: grams, and what all of it cost in cents (None: nobody wrote it down)."""

    day: date
    grams: int
    cents: int | None

    def __post_init__(self) -> None:
        if self.grams <= 0 or (self.cents is not None and self.cents < 0):
            raise ValueError("grams must be above 0 and cents not below 0")


@dataclass(frozen=True, slots=True, order=True)
class Meal:
    """Grams that a batch ate on a day."""

    day: date
    batch: int
    grams: int


@dataclass(frozen=True, slots=True)
class Cost:
    """What a batch's feed costs, in cents.

    to_date, to_come: before `today` of `costs`, and from it on. unpriced_g: grams eaten or to come without any price
    known, left out of both. assumed_g: grams not bought yet, taken at the price of the last lot.
    """

    to_date: int = 0
    to_come: int = 0
    unpriced_g: int = 0
    assumed_g: int = 0

    def per_bird(self, birds: int) -> int | None:
        """Return the cents of all feed for one of so many birds, rounded half up; None of no birds."""
        return None if birds <= 0 else (2 * (self.to_date + self.to_come) + birds) // (2 * birds)


def meals(batch: int, use_kg: NDArray[np.float64], first_day: date) -> list[Meal]:
    """Return the meals of a batch in whole grams; their sum is the sum of `use_kg` to the gram.

    Days without feed have no meal.
    """
    start = first_day.toordinal()
    grams = np.diff(np.rint(np.concatenate(([0.0], np.cumsum(use_kg))) * 1000).astype(np.int64))
    return [Meal(date.fromordinal(start + day), batch, int(g)) for day, g in enumerate(grams) if g > 0]


def costs(lots: Iterable[Lot], eaten: Iterable[Meal], today: date) -> Mapping[int, Cost]:
    """Return the cost of one kind of feed by batch.

    Lots are eaten by their day, oldest first, whoever eats; a meal earlier than its lot was only written down late.
    When the lots are eaten up, what is eaten still before today has no price; what is to come is taken at the last
    price known.
    """
    shelf = _Shelf(lots)
    found: dict[int, _Sum] = {}
    for meal in sorted(eaten):
        sums = found.setdefault(meal.batch, _Sum())
        cents, unpriced, beyond = shelf.take(meal.grams)
        if meal.day < today:
            sums.to_date, sums.unpriced_g = sums.to_date + cents, sums.unpriced_g + unpriced + beyond
        else:
            ahead = shelf.at_last_price(beyond)
            sums.to_come += cents + (ahead or 0)
            sums.unpriced_g += unpriced + (beyond if ahead is None else 0)
            sums.assumed_g += 0 if ahead is None else beyond
    return {
        batch: Cost(each.to_date, each.to_come, each.unpriced_g, each.assumed_g)
        for batch, each in found.items()
    }


@dataclass(slots=True)
class _Sum:
    to_date: int = 0
    to_come: int = 0
    unpriced_g: int = 0
    assumed_g: int = 0


class _Shelf:
    """Lots in the order they are eaten, and how far into them the birds are."""

    def __init__(self, lots: Iterable[Lot]) -> None:
        self._lots = sorted(lots, key=lambda lot: lot.day)
        self._at = self._into = 0
        self._assumed = 0
        self._last = next((lot for lot in reversed(self._lots) if lot.cents is not None), None)

    def take(self, grams: int) -> tuple[int, int, int]:
        """Eat so many grams; return (cents, grams without a price, grams beyond the last lot)."""
        cents = unpriced = 0
        while grams and self._at < len(self._lots):
            lot = self._lots[self._at]
            taken = min(grams, lot.grams - self._into)
            if lot.cents is None:
                unpriced += taken
            else:
                cents += _part(lot, self._into + taken) - _part(lot, self._into)
            grams, self._into = grams - taken, self._into + taken
            if self._into == lot.grams:
                self._at, self._into = self._at + 1, 0
        return cents, unpriced, grams

    def at_last_price(self, grams: int) -> int | None:
        """Return the cents of so many grams beyond the lots, at the price of the last priced one; None without."""
        if self._last is None:
            return None
        before, self._assumed = self._assumed, self._assumed + grams
        return _part(self._last, self._assumed) - _part(self._last, before)


def _part(lot: Lot, grams: int) -> int:
    """Return the cents of the first so many grams of a priced lot, rounded down: all of it costs its cents."""
    return (lot.cents or 0) * grams // lot.grams
