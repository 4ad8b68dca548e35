"""What an allotment is made from and what it says: batches that may be given, lines that want birds, and answers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from farm.phrase import Phrase
from farm.trade.programme import Programme

Sex = Literal["any", "female", "male"]


@dataclass(frozen=True, slots=True)
class Hold:
    """Birds of a batch kept out of orders. They rank before every order. Raises ValueError below 0 birds."""

    birds: int
    sex: Sex = "any"

    def __post_init__(self) -> None:
        if self.birds < 0:
            raise ValueError("a hold cannot be of fewer than 0 birds")


@dataclass(frozen=True, slots=True)
class Supply:
    """A batch that birds may be given from.

    law: P(exactly k alive on `known_on`), k = 0..; a certain count for live birds. from_on, until: the half-open days
    on which its birds may be given; until None: no end. female_share: 0 to 1; sexed lots have 1 or 0, or what sexing
    gets right. live: the birds are there. breed: "" where nobody said. Raises ValueError for a law that does not add to
    1 or a share outside 0..1.
    """

    key: str
    name: str
    type: str
    programme: Programme
    hatch_day: date
    known_on: date
    law: tuple[float, ...]
    from_on: date
    until: date | None = None
    female_share: float = 0.5
    holds: tuple[Hold, ...] = ()
    live: bool = True
    breed: str = ""

    def __post_init__(self) -> None:
        if not self.law or min(self.law) < 0 or abs(sum(self.law) - 1) > 1e-9:
            raise ValueError("a law is a row of chances that add to 1")
        if not 0 <= self.female_share <= 1:
            raise ValueError("female_share must be within 0 to 1")


@dataclass(frozen=True, slots=True)
class Wanted:
    """A line of an order, or what is left of it: `birds` of a type, given between two days, both included, at an age
    between two ages, both included. priority: 1 first. breed: "" takes any; capital letters make no difference. Raises
    ValueError below 0 birds.
    """

    key: str
    name: str
    type: str
    sex: Sex
    age_from_days: int
    age_to_days: int
    birds: int
    from_on: date
    to_on: date
    priority: int = 1
    breed: str = ""

    def __post_init__(self) -> None:
        if self.birds < 0:
            raise ValueError("a line cannot ask for fewer than 0 birds")

    @property
    def rank(self) -> tuple[int, date, str]:
        """Return what lines are served by: the lower goes first."""
        return self.priority, self.from_on, self.key


@dataclass(frozen=True, slots=True)
class Share:
    """`birds` of the batch `supply` are meant for the line `wanted`, to be given on `day`, the first day they may."""

    wanted: str
    supply: str
    birds: int
    day: date


@dataclass(frozen=True, slots=True)
class LineOdds:
    """How a line stands. allotted + short = ordered.

    expected: birds it will get in the mean; low, high: in 8 cases of 10 it gets that many. chance: that it gets all.
    reason: why it is short, None where it is not.
    """

    ordered: int
    allotted: int
    short: int
    expected: float
    chance: float
    low: int
    high: int
    reason: Phrase | None


@dataclass(frozen=True, slots=True)
class SpareOdds:
    """Birds of a batch that are neither held nor given, after its last hand-over.

    sure: at least so many at the confidence asked for. from_on: the first day one could be given.
    """

    expected: float
    sure: int
    from_on: date


@dataclass(frozen=True, slots=True)
class Lack:
    """`birds` of a line that no batch can give, due on `day`."""

    day: date
    birds: int


@dataclass(frozen=True, slots=True)
class DayRow:
    """One day of hand-overs.

    promised: birds of lines that fall due on the day, allotted or not. expected, low, high: birds really given.
    short: those promised that no birds are meant for. surplus: birds expected free on the day, given nor meant for
    any line, whole birds of all batches that may be given on it.
    """

    day: date
    promised: int
    expected: float
    low: int
    high: int
    short: int
    surplus: int
