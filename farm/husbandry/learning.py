"""Rates that bend from the published tables toward what the farm itself has seen.

A belief about a rate is a beta law. The table's rate is worth so many eggs or birds of evidence; each one that the
farm has seen counts as one more. The more the farm has seen, the less the table says, and the narrower the belief.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from farm.husbandry import beta

MONTHS = range(1, 13)


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of a rate: Beta(a, b), as if a had passed and b not. Both must be above 0, else ValueError."""

    a: float
    b: float

    def __post_init__(self) -> None:
        if not (0 < self.a < math.inf and 0 < self.b < math.inf):
            raise ValueError("a and b must be above 0")

    @classmethod
    def of(cls, mean: float, worth: float) -> Belief:
        """Return the belief with this mean, worth so many birds.

        Raises ValueError for a mean not between 0 and 1, or a worth not above 0.
        """
        return cls(mean * worth, (1 - mean) * worth)

    @property
    def mean(self) -> float:
        """The rate expected."""
        return self.a / self.worth

    @property
    def worth(self) -> float:
        """How many eggs or birds of evidence it rests on."""
        return self.a + self.b

    def seen(self, yes: int, no: int) -> Belief:
        """Return the belief after so many more that passed and that did not. Raises ValueError below 0."""
        if yes < 0 or no < 0:
            raise ValueError("what was seen must not be below 0")
        return Belief(self.a + yes, self.b + no)

    def as_worth(self, worth: float) -> Belief:
        """Return the same mean worth so many birds. Raises ValueError unless worth is above 0."""
        return Belief(self.a / self.worth * worth, self.b / self.worth * worth)

    def interval(self, share: float = 0.9) -> tuple[float, float]:
        """Return (low, high): the rate lies between with this chance, and as likely below as above.

        Raises ValueError for a share outside 0..1.
        """
        if not 0 <= share <= 1:
            raise ValueError("share must be within 0 to 1")
        low, high = (beta.quantile(self.a, self.b, q) for q in ((1 - share) / 2, (1 + share) / 2))
        return low, high


@dataclass(frozen=True, slots=True)
class SetResult:
    """How one egg set ended. month: 1 to 12, of the hatch; clear: None where nobody candled.

    Raises ValueError for what cannot be: no eggs, or more clear and hatched than were set.
    """

    month: int
    eggs: int
    clear: int | None
    hatched: int

    def __post_init__(self) -> None:
        if self.month not in MONTHS:
            raise ValueError("month must be 1 to 12")
        if self.eggs < 1:
            raise ValueError("eggs must be above 0")
        clear = self.clear or 0
        if clear < 0 or self.hatched < 0 or clear + self.hatched > self.eggs:
            raise ValueError(
                "clear and hatched eggs must not be below 0, nor together more than the eggs set"
            )


@dataclass(frozen=True, slots=True)
class Learned:
    """What the farm's egg sets taught.

    fertility: not clear of eggs candled. hatch: hatched of eggs set, over all months. by_month: the same for each month
    1 to 12; one without egg sets has the mean of all, worth only what the table is.
    """

    fertility: Belief
    hatch: Belief
    by_month: Mapping[int, Belief]


def learned(prior_fertility: Belief, prior_hatch: Belief, results: Iterable[SetResult]) -> Learned:
    """Return the beliefs after these egg sets, which may come in any order.

    A month begins from the farm's mean over all months, worth as much as the table's rate is, and then counts its
    own sets as they are: few eggs move it little.
    """
    sets = tuple(results)
    candled = [(one.eggs, one.clear) for one in sets if one.clear is not None]
    clear = sum(clear for _eggs, clear in candled)
    fertility = prior_fertility.seen(sum(eggs for eggs, _clear in candled) - clear, clear)
    hatch = _hatched(prior_hatch, sets)
    start = hatch.as_worth(prior_hatch.worth)
    months = {month: _hatched(start, [one for one in sets if one.month == month]) for month in MONTHS}
    return Learned(fertility, hatch, MappingProxyType(months))


def intake_losses(prior: Belief, results: Iterable[tuple[int, int]]) -> Belief:
    """Return the belief that a bird arrives alive, after intakes of (alive, dead). Raises ValueError below 0."""
    belief = prior
    for alive, dead in results:
        belief = belief.seen(alive, dead)
    return belief


def _hatched(prior: Belief, sets: Iterable[SetResult]) -> Belief:
    belief = prior
    for one in sets:
        belief = belief.seen(one.hatched, one.eggs - one.hatched)
    return belief
