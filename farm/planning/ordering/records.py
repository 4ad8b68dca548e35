"""What a backward plan is asked and what it answers: frozen, named by key; the order of a list never matters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from farm.husbandry.odds import Stage
from farm.phrase import Phrase
from farm.planning.allotments.records import Wanted
from farm.planning.machines import EggLoad, Machine
from farm.planning.solution import PlanStay
from farm.trade.programme import Programme

Law = NDArray[np.float64]

#: Birds of these sexes can be bought or wanted apart; "any" is as hatched.
ANY, FEMALE, MALE = "any", "female", "male"

#: How many more days a line may stay open when nothing else helps: project default (judgement).
LATER_DAYS = 56


@dataclass(frozen=True, slots=True)
class OrderKind:
    """A type of bird that can be ordered.

    hatch: the stages between an egg set, stored 0 days, and a chick. female_share: of the chicks hatched. can_set: the
    farm can get such eggs. arrives: the stage of a bought chick on its way. prior_birds: how many birds of evidence the
    programme's losses are worth; None: they are taken as known.
    """

    type: str
    name: str
    programme: Programme
    species: str
    size: str
    hatch: tuple[Stage, ...]
    female_share: float
    can_set: bool
    arrives: Stage
    prior_birds: float | None = None


@dataclass(frozen=True, slots=True)
class Supplier:
    """Someone who sells chicks. weekdays: on which they arrive, 0 = Monday, empty = any; minimum: birds of one order.

    lead_days: from ordering to arrival at the earliest. sexed: sells females or males alone. age_days: how old the
    chicks arrive.
    """

    key: str
    name: str
    types: frozenset[str]
    weekdays: frozenset[int] = frozenset()
    minimum: int = 1
    lead_days: int = 0
    sexed: bool = False
    age_days: int = 1


@dataclass(frozen=True, slots=True)
class Weights:
    """What one more batch, a bird nobody ordered, and a bird missing cost: project default (judgement).

    So far apart that the first of birds missing, batches and birds too many that differs decides, on any farm.
    """

    batch: int = 10**5
    over_hatch: int = 1
    unmet: int = 10**8


class BrooderRoom(Protocol):
    """Room for young birds, which sees every batch taken so far. Days are half-open: [arrival, leaves_on)."""

    def most(self, kind: str, arrival: date, age_days: int, leaves_on: date) -> int:
        """Return the largest batch of a type, `age_days` old on arrival, that fits."""

    def take(self, kind: str, arrival: date, age_days: int, birds: int, leaves_on: date) -> object | None:
        """Put a batch in and return what names it; None, and nothing changed, where it does not fit."""

    def give_back(self, taken: object) -> None:
        """Take a batch out again."""

    def put_back(self, taken: object) -> None:
        """Put a batch that was given back exactly where it was; everyone else must be where they were then."""

    def stays(self, taken: object) -> tuple[PlanStay, ...]:
        """Return where a batch that was taken lives, from day to day; () where nobody says."""

    def narrowest(self, kind: str, arrival: date, age_days: int, leaves_on: date) -> tuple[str, date] | None:
        """Return the name of the housing and the day that keep a batch from being larger; None where none is known."""


@dataclass(frozen=True, eq=False)
class Need:
    """Everything a proposal depends on.

    wanted: the lines still to be met. besides: by line key, the law of the birds already allotted to it. loads: eggs
    already in machines or meant to be. set_weekdays, hatch_weekdays: 0 = Monday, empty = any. rooms: left as found.
    tries: how often a better proposal is looked for; the only budget.
    """

    today: date
    wanted: tuple[Wanted, ...]
    kinds: Mapping[str, OrderKind]
    machines: tuple[Machine, ...]
    rooms: BrooderRoom
    loads: tuple[EggLoad, ...] = ()
    suppliers: tuple[Supplier, ...] = ()
    besides: Mapping[str, Law] = field(default_factory=dict)
    set_weekdays: frozenset[int] = frozenset()
    hatch_weekdays: frozenset[int] = frozenset()
    confidence: float = 0.9  # project default (judgement)
    weights: Weights = field(default_factory=Weights)
    tries: int = 150


@dataclass(frozen=True, slots=True)
class ProposedSet:
    """Eggs to set on a day. expected, low, high: chicks hatched, and the band 8 hatches in 10 fall in.

    breed: as its lines ask, "" for any. lines: keys it is for. leaves_on: the first day they are all gone.
    why_day, why_eggs: in words. stays: where its birds have room.
    """

    key: str
    type: str
    setter: str
    hatcher: str
    set_on: date
    hatch_day: date
    eggs: int
    expected: float
    low: int
    high: int
    lines: tuple[str, ...]
    leaves_on: date
    why_day: Phrase
    why_eggs: Phrase
    breed: str = ""
    stays: tuple[PlanStay, ...] = ()


@dataclass(frozen=True, slots=True)
class ProposedIntake:
    """Chicks to buy. expected: alive on arrival; sex: "any", "female" or "male"; why: rather than setting eggs."""

    key: str
    type: str
    supplier: str
    day: date
    birds: int
    sex: str
    expected: float
    lines: tuple[str, ...]
    leaves_on: date
    why: Phrase
    why_birds: Phrase
    breed: str = ""
    stays: tuple[PlanStay, ...] = ()


@dataclass(frozen=True, slots=True)
class Way:
    """One change that was tried and meets the line. kind: "machine", "later", "confidence" or "buy"."""

    kind: str
    phrase: Phrase


@dataclass(frozen=True, slots=True)
class LineAnswer:
    """How a line stands with the proposal carried out.

    chance: that all its birds are there; expected: of them; short_birds: how many of them cannot be promised with the
    confidence asked for. why: where the birds come from, or why they are missing.
    """

    wanted: int
    chance: float
    expected: float
    short_birds: int
    why: Phrase
    ways: tuple[Way, ...] = ()


@dataclass(frozen=True)
class Proposal:
    """The answer. cost: of birds missing, batches and birds too many by the need's weights; digest: of what it says."""

    sets: tuple[ProposedSet, ...]
    intakes: tuple[ProposedIntake, ...]
    lines: Mapping[str, LineAnswer]
    cost: int
    digest: str

    @property
    def short_birds(self) -> int:
        """Return the birds that cannot be promised."""
        return sum(line.short_birds for line in self.lines.values())

    @property
    def batches(self) -> int:
        """Return how many batches it makes."""
        return len(self.sets) + len(self.intakes)
