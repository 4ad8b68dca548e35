"""What the planner is asked: housing, batches, what is fixed, and what matters how much.

Everything is frozen and named by key; days are dates and half-open. Needs are whole numbers so that every sum is exact
on every machine: mm² and µm for one bird, dm² and mm for a housing or a whole part. The order in which a problem is
put together does not matter: collections are sorted by key when it is made, so equal problems have equal digests.

    problem = Problem(start=date(2031, 4, 12), days=182, housings=(...), batches=(...))
    validate.problems(problem)          # () when it can be solved
    solve.solve(problem, seed=0)        # -> Solution
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from farm.planning import codec
from farm.planning.solution import BatchPlan
from farm.planning.weights import Weights
from farm.planning.window import Window

VERSION = 1
SATURDAY = 5


@dataclass(frozen=True, slots=True)
class Capacity:
    """What a housing gives from `day` on, until the next step: floor in dm², edges in mm (0 = not recorded)."""

    day: date
    area_dm2: int
    feeder_mm: int = 0
    drinker_mm: int = 0


@dataclass(frozen=True, slots=True)
class Housing:
    """One housing. Rules are those of `premises.Room`; `changes` are steps in what it gives over the days.

    In service over [in_service_from, in_service_to), None an open side. species: empty = any.
    max_age_gap_days: None = any ages together.
    """

    key: str
    name: str
    kind: str
    area_dm2: int
    feeder_mm: int = 0
    drinker_mm: int = 0
    heated: bool = False
    indoor: bool = True
    one_batch: bool = False
    max_age_gap_days: int | None = None
    rest_days: int = 0
    species: frozenset[str] = frozenset()
    in_service_from: date | None = None
    in_service_to: date | None = None
    changes: tuple[Capacity, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "changes", tuple(sorted(self.changes, key=lambda step: step.day)))


@dataclass(frozen=True, slots=True)
class Demand:
    """What one bird asks for on each day of age from day 0; an older bird holds the last value."""

    area_mm2: tuple[int, ...]
    feeder_um: tuple[int, ...]
    drinker_um: tuple[int, ...]
    heat: tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """Kinds of housing that suit ages [from_age, to_age); to_age None is open.

    Where two stages overlap lies the earliest and latest age of the move between them.
    """

    kinds: frozenset[str]
    from_age: int
    to_age: int | None = None


@dataclass(frozen=True, slots=True)
class Arrival:
    """The day asked for, and the days that would do: the `weekdays` (0 = Monday; empty = any) of [earliest, before).

    The day asked for is always allowed. earliest and before None: only that day.
    """

    day: date
    earliest: date | None = None
    before: date | None = None
    weekdays: frozenset[int] = frozenset()

    def days(self) -> tuple[date, ...]:
        """Return every allowed day in order."""
        first, stop = self.earliest or self.day, self.before or self.day + timedelta(days=1)
        span = (first + timedelta(days=i) for i in range((stop - first).days))
        allowed = {day for day in span if not self.weekdays or day.weekday() in self.weekdays}
        return tuple(sorted(allowed | {self.day}))

    def last(self) -> date:
        """Return the last allowed day."""
        found = (self.before or self.day) - timedelta(days=1)
        first = max(self.day, (self.earliest or self.day) - timedelta(days=1))
        while found > first and self.weekdays and found.weekday() not in self.weekdays:
            found -= timedelta(days=1)
        return found if found > first else self.day


@dataclass(frozen=True, slots=True)
class Past:
    """Where birds already here have been and must be until `end`: never changed by a plan.

    The last one of a part ends on the problem's first day, or later when the birds must not be moved before. `part`
    names one of the batch's parts; "" = all of it.
    """

    housing: str
    start: date
    end: date
    part: str = ""


@dataclass(frozen=True, slots=True)
class PartSize:
    """A part the batch is already in: `birds` of it, counted as the batch's `birds` are."""

    key: str
    birds: int


@dataclass(frozen=True, slots=True)
class Batch:
    """One batch: a curve of needs, and what is fixed about its life.

    birds: how many arrive, or are alive now for a batch that is here. survivors: how many of them to plan for at the
    start of each week of age from week 0, the last value held; empty = all. leave_age_days, leaves: when they go
    ([..., leave)); the earlier counts; neither = they stay beyond the plan. outdoors_age_days, outdoors_from: not out
    of doors at a younger age, or before that day. parts: the parts it is already in, never split further; otherwise it
    may be split into up to max_parts. min_stay_days: no stay shorter, except beside pins and history. forbidden:
    keys of housings the keeper rules out.
    """

    key: str
    name: str
    species: str
    birds: int
    demand: Demand
    stages: tuple[Stage, ...]
    arrival: Arrival
    age_at_arrival_days: int = 0
    survivors: tuple[int, ...] = ()
    leave_age_days: int | None = None
    leaves: date | None = None
    outdoors_age_days: int = 0
    outdoors_from: date | None = None
    history: tuple[Past, ...] = ()
    parts: tuple[PartSize, ...] = ()
    max_parts: int = 1
    min_stay_days: int = 1
    forbidden: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        for name, key in _BATCH_ORDER.items():
            object.__setattr__(self, name, tuple(sorted(getattr(self, name), key=key)))


@dataclass(frozen=True, slots=True)
class Pin:
    """The keeper's word: this batch (or its named part) is in `housing` over [start, end), whatever it breaks."""

    batch: str
    housing: str
    start: date
    end: date
    part: str = ""


@dataclass(frozen=True, slots=True)
class Apart:
    """Two species that never share a housing; brooding_only: only while either needs heat.

    ground_rest_days: rest between the two on the same ground outdoors, if longer than the housing's own.
    """

    one: str
    other: str
    brooding_only: bool = False
    ground_rest_days: int = 0


@dataclass(frozen=True, slots=True)
class Left:
    """Birds of batches that are gone left `housing` on `day`: its rest may still run."""

    housing: str
    species: str
    day: date


@dataclass(frozen=True)
class Problem:
    """Everything one plan depends on, over the days [start, start + days).

    move_weekdays: days on which moves are welcome (0 = Monday); empty = any day is as good. adopted: the plan that
    holds now, to start from and to stay near.
    """

    start: date
    days: int
    housings: tuple[Housing, ...]
    batches: tuple[Batch, ...]
    pins: tuple[Pin, ...] = ()
    apart: tuple[Apart, ...] = ()
    left: tuple[Left, ...] = ()
    adopted: tuple[BatchPlan, ...] = ()
    move_weekdays: frozenset[int] = frozenset({SATURDAY})
    weights: Weights = field(default_factory=Weights)
    version: int = VERSION

    def __post_init__(self) -> None:
        for name, key in _ORDER.items():
            object.__setattr__(self, name, tuple(sorted(getattr(self, name), key=key)))

    @cached_property
    def window(self) -> Window:
        """Return the days the plan is reported for."""
        return Window(self.start, self.days)

    @cached_property
    def digest(self) -> str:
        """Return the SHA-256 of the problem's canonical JSON."""
        return codec.digest(self)

    def to_json(self) -> dict[str, Any]:
        """Return objects JSON knows; `from_json` is the exact inverse."""
        return {**codec.plain(self), "digest": self.digest}


def from_json(data: Mapping[str, Any]) -> Problem:
    """Return the problem `to_json` wrote. Raises codec.ReadingError with (path, message) pairs.

    Unknown and missing fields are refused, and so is a digest that does not belong to the data.
    """
    found = codec.read(Problem, {key: value for key, value in data.items() if key != "digest"})
    codec.refuse_other(found.version, VERSION, found.digest, data.get("digest"))
    return found


_BATCH_ORDER: Mapping[str, Any] = {
    "stages": lambda stage: (stage.from_age, sorted(stage.kinds)),
    "history": lambda past: (past.start, past.part, past.housing),
    "parts": lambda part: part.key,
}
_ORDER: Mapping[str, Any] = {
    "housings": lambda housing: housing.key,
    "batches": lambda batch: batch.key,
    "pins": lambda pin: (pin.batch, pin.start, pin.end, pin.housing, pin.part),
    "apart": lambda rule: (rule.one, rule.other, rule.brooding_only, rule.ground_rest_days),
    "left": lambda left: (left.housing, left.day, left.species),
    "adopted": lambda plan: plan.batch,
}
