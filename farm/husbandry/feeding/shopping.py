"""What to buy: whole bags for the days ahead, and never more than is eaten before it is too old."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from farm.husbandry.feeding.shelf import keeps_days
from farm.phrase import N_, Phrase, Quantity, Value
from farm.trade.general import figure

_ROUNDING = 1e-9


@dataclass(slots=True)
class _Heap:
    """Feed of one age: kg left, and the first day it is too old."""

    kg: float
    old_on: date


@dataclass(frozen=True, slots=True)
class Store:
    """Feed in store: kg, and the first day it is too old to feed."""

    kg: float
    old_on: date


@dataclass(frozen=True, slots=True)
class Purchase:
    """One buying of one feed.

    needed_on: the first day that is not fed without it. bags of bag_kg; eaten_kg of them is eaten before it is too
    old or the asked days end, fed_until being the last day. capped: more will be eaten, but this would be too old by
    then. ends: nobody eats of it after fed_until, as far as was asked.
    """

    needed_on: date
    bags: int
    bag_kg: float
    eaten_kg: float
    fed_until: date
    capped: bool
    ends: bool

    @property
    def kg(self) -> float:
        """All that is bought."""
        return self.bags * self.bag_kg

    @property
    def left_kg(self) -> float:
        """What is bought and not eaten within the days asked about."""
        return self.kg - self.eaten_kg

    @property
    def words(self) -> Phrase:
        """The purchase in a sentence."""
        values: dict[str, Value] = {
            "bags": self.bags,
            "size": Quantity(self.bag_kg, "kg"),
            "day": self.needed_on,
            "until": self.fed_until,
        }
        if not self.capped:
            return Phrase(
                N_("%(bags)d bag of %(size)s by %(day)s, eaten until %(until)s"),
                values,
                plural=N_("%(bags)d bags of %(size)s by %(day)s, eaten until %(until)s"),
                count="bags",
            )
        one = N_(
            "%(bags)d bag of %(size)s by %(day)s and no more: after %(until)s it would be too old to feed"
        )
        many = N_(
            "%(bags)d bags of %(size)s by %(day)s and no more: after %(until)s they would be too old to feed"
        )
        return Phrase(one, values, plural=many, count="bags")

    @property
    def left_words(self) -> Phrase | None:
        """What is left over for good, in a sentence; None where the rest is eaten later."""
        if not (self.capped or self.ends) or round(self.left_kg) < 1:
            return None
        return Phrase(
            N_("About %(left)s will be left over: is there a smaller bag?"),
            {"left": Quantity(self.left_kg, "kg", 0)},
        )


def shopping(
    use_kg: NDArray[np.float64],
    first_day: date,
    stores: Sequence[Store],
    bag_kg: float,
    mean_c: float | None = None,
    age_days: int | None = None,
    own_keeps_days: int | None = None,
) -> tuple[Purchase, ...]:
    """Return what to buy of one feed for the days of `use_kg` (kg a day, the farm's factor in it).

    stores: what is there, oldest eaten first, what is too old not at all. mean_c: mean °C of the store, warm feed
    keeps less long. age_days: from milling to delivery, the table's unless given. own_keeps_days: what
    the maker says of this feed, warm or not. A purchase holds no bag that is
    wholly beyond what is eaten before it is too old. Raises ValueError for a bag of nothing, or feed that is too old
    when it comes.
    """
    age = int(figure("feed", "feed_age_days")) if age_days is None else age_days
    keeps = keeps_days(mean_c) if own_keeps_days is None else own_keeps_days
    fresh_days = keeps - age
    if bag_kg <= 0 or age < 0 or fresh_days <= 0:
        raise ValueError("needs a bag above 0 kg and feed that is not too old when it comes")
    heaps = [_Heap(store.kg, store.old_on) for store in stores]
    found: list[Purchase] = []
    for day, kg in enumerate(use_kg):
        today = first_day + timedelta(days=day)
        short = _eat(heaps, today, float(kg))
        if short > _ROUNDING:
            bought = _buy(short, use_kg[day:], fresh_days, today, bag_kg)
            found.append(bought)
            heaps.append(_Heap(bought.kg - short, today + timedelta(days=fresh_days)))
    return tuple(found)


def _eat(heaps: list[_Heap], today: date, kg: float) -> float:
    """Take a day's feed from what is not too old, oldest first; return what is lacking."""
    for heap in sorted(heaps, key=lambda heap: heap.old_on):
        if heap.old_on > today:
            taken = min(heap.kg, kg)
            heap.kg -= taken
            kg -= taken
    return kg


def _buy(short: float, ahead: NDArray[np.float64], fresh_days: int, today: date, bag_kg: float) -> Purchase:
    """Return the purchase for a day that lacks `short` kg and the days ahead while it keeps, the first being today."""
    kept, beyond = ahead[:fresh_days], ahead[fresh_days:]
    eaten = short + float(kept[1:].sum())
    last = int(np.flatnonzero(kept)[-1])
    capped = bool(beyond.any())
    return Purchase(
        needed_on=today,
        bags=max(math.ceil(eaten / bag_kg - _ROUNDING), 1),
        bag_kg=bag_kg,
        eaten_kg=eaten,
        fed_until=today + timedelta(days=last),
        capped=capped,
        ends=not capped and last + 1 < len(ahead),
    )
