"""A farm's own factor: how much feed goes out of its bags for each kg the tables say its birds eat.

Above 1 for waste, hungrier strains and wild birds; below 1 for grazing, small strains and careful hands. It is learned
from bags opened. The logarithm of the factor follows a normal law. Bags that follow each other are one measurement: one
bag's surplus is the next one's lack, so only the first and the last opening leave a doubt. Appetite differs for a
fortnight on end: many bags opened in few days tell no more than those days.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from farm.trade.general import figure


@dataclass(frozen=True, slots=True)
class Opening:
    """Feed opened on a day for certain birds; several bags of one day may be one entry or many."""

    day: date
    kg: float

    def __post_init__(self) -> None:
        if not 0 < self.kg < math.inf:
            raise ValueError("kg must be above 0")


@dataclass(frozen=True, slots=True)
class Emptied:
    """A bag opened on `day` that lasted so many days: kg that went, and kg the tables say was eaten (above 0)."""

    day: date
    kg: float
    table_kg: float
    days: int

    @property
    def ratio(self) -> float:
        """How many times the tables' feed went."""
        return self.kg / self.table_kg

    @property
    def believable(self) -> bool:
        """Whether it can be true: else a bag was forgotten, or the number is a slip."""
        return figure("feed", "factor_least") <= self.ratio <= figure("feed", "factor_most")


@dataclass(frozen=True, slots=True)
class FarmFactor:
    """The belief about the factor: its logarithm is normal. seen: bags it rests on; left_out: those not believed."""

    log_mean: float
    log_spread: float
    seen: int = 0
    left_out: int = 0

    @property
    def likely(self) -> float:
        """The factor as likely too high as too low."""
        return math.exp(self.log_mean)

    def quantile(self, q: float, more_spread: float = 0.0) -> float:
        """Return the factor that is not exceeded with chance q (0 < q < 1); more_spread: of the use itself."""
        return math.exp(NormalDist(self.log_mean, math.hypot(self.log_spread, more_spread)).inv_cdf(q))

    def interval(self, share: float | None = None) -> tuple[float, float]:
        """Return (low, high): the factor lies between with this chance (0.9 unless given)."""
        share = figure("feed", "band_probability") if share is None else share
        return self.quantile((1 - share) / 2), self.quantile((1 + share) / 2)


def prior() -> FarmFactor:
    """Return the belief of a farm that has opened no bag yet: the usual waste on top of the tables."""
    return FarmFactor(math.log1p(figure("feed", "waste_share")), figure("feed", "factor_spread"))


def emptied(openings: Iterable[Opening], table_kg: NDArray[np.float64], first_day: date) -> list[Emptied]:
    """Return each bag that was followed by another for the same birds and feed, by day.

    table_kg: what those birds eat of that feed on each day from `first_day`, by the tables and the cold. The last
    bag is still open and says nothing; nor does one that was open while nobody ate of it, or beyond the window.
    """
    kg_by_day: dict[date, float] = {}
    for opening in openings:
        kg_by_day[opening.day] = kg_by_day.get(opening.day, 0) + opening.kg
    days = sorted(kg_by_day)
    found = []
    for day, following in pairwise(days):
        start, end = (day - first_day).days, (following - first_day).days
        eaten = table_kg[max(start, 0) : end]
        if start >= 0 and end <= len(table_kg) and (eaten > 0).all():
            found.append(Emptied(day, kg_by_day[day], float(eaten.sum()), end - start))
    return found


def learned(belief: FarmFactor, bags: Sequence[Emptied]) -> FarmFactor:
    """Return the belief after these bags, in any order; unbelievable ones are counted, not believed.

    Bags that follow each other day on day count as one long measurement.
    """
    believed = sorted((bag for bag in bags if bag.believable), key=lambda bag: bag.day)
    chains: list[list[Emptied]] = []
    for bag in believed:
        follows = bool(chains) and chains[-1][-1].day + timedelta(days=chains[-1][-1].days) == bag.day
        chains = [*chains[:-1], [*chains[-1], bag]] if follows else [*chains, [bag]]
    for chain in chains:
        belief = _after(belief, chain)
    return replace(belief, left_out=belief.left_out + len(bags) - len(believed))


def times_by_day(
    bags: Iterable[Emptied], belief: FarmFactor, first_day: date, days: int
) -> NDArray[np.float64]:
    """Return how many times the tables' feed goes on each day of a window.

    While a believed bag lasted, as it was; on all other days, past and to come, as is likely. What batches ate of one
    bag together is then the bag, to the gram.
    """
    times = np.full(days, belief.likely)
    for bag in bags:
        start = (bag.day - first_day).days
        if bag.believable:
            times[max(start, 0) : max(start + bag.days, 0)] = bag.ratio
    return times


def _after(belief: FarmFactor, chain: Sequence[Emptied]) -> FarmFactor:
    """Return the belief after bags that followed each other: what was left in them is in doubt at the ends only."""
    kg, table_kg = sum(bag.kg for bag in chain), sum(bag.table_kg for bag in chain)
    days = sum(bag.days for bag in chain)
    fortnights = max(days / figure("feed", "alike_days"), 1)
    error = math.hypot(
        figure("feed", "alike_spread") / math.sqrt(fortnights), figure("feed", "opening_error_days") / days
    )
    known, told = belief.log_spread**-2, error**-2
    mean = (known * belief.log_mean + told * math.log(kg / table_kg)) / (known + told)
    return replace(belief, log_mean=mean, log_spread=(known + told) ** -0.5, seen=belief.seen + len(chain))
