"""Invented farms to plan, the same for the same seed, each made around a plan that fits: so one is known to exist.

The *planted* family lets arrivals vary and prices company; the *certified* family fixes arrivals and prices nothing a
batch would not pay on an empty farm, so that the planted plan costs exactly the empty-farm bound: the optimum is
known at any size. Needs and housing are made up.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

import numpy as np

from farm.planning.loads import load
from farm.planning.problem import Apart, Arrival, Batch, Demand, Housing, Problem, Stage
from farm.planning.solution import BatchPlan, PlanPart, PlanStay
from farm.planning.weights import Weights

START = date(2031, 1, 4)  # a Saturday
WEEK = 7
SPARE_PERCENT = (0, 12)
#: How often a batch is drawn anew before the farm is given up, and farms before the size is.
TRIES, FARMS = 200, 100


@dataclass(frozen=True)
class Size:
    """Batches, housings and weeks."""

    batches: int
    housings: int
    weeks: int


SIZES: Mapping[str, Size] = {
    "tiny": Size(3, 3, 16),
    "small": Size(6, 5, 26),
    "mid": Size(18, 9, 40),
    "medium": Size(40, 15, 52),
    "large": Size(200, 60, 52),
    "huge": Size(1000, 200, 52),
}


@dataclass(frozen=True)
class Planted:
    """A problem, a plan of it without any shortfall, and whether that plan is the best there can be."""

    problem: Problem
    plans: tuple[BatchPlan, ...]
    certified: bool


@dataclass(frozen=True)
class Kind:
    """A made-up type of bird: floor in cm² by week of age, stages, and the age it leaves at."""

    name: str
    species: str
    floor_cm2: tuple[int, ...]
    heat_days: int
    stages: tuple[tuple[str, int, int | None], ...]
    leave_age: int


KINDS = (
    Kind("layers", "chicken", (250, 300, 400, 500, 600, 700, 800, 900, 1000, 1200), 24,
         (("brooder", 0, 38), ("pen", 24, 84), ("paddock", 63, None)), 126),
    Kind("meat birds", "chicken", (250, 350, 500, 700, 850, 1000, 1000, 1100), 21,
         (("brooder", 0, 35), ("pen", 21, None)), 56),
    Kind("ducks", "duck", (300, 600, 1000, 1500, 2000), 17,
         (("brooder", 0, 28), ("pen", 17, 49), ("paddock", 35, None)), 70),
    Kind("poults", "turkey", (300, 400, 600, 900, 1200, 1600, 2000, 2500, 3000), 31,
         (("brooder", 0, 45), ("pen", 31, 84), ("paddock", 66, None)), 140),
)  # fmt: skip
APART = (Apart("chicken", "turkey", False, 0), Apart("chicken", "duck", True), Apart("duck", "turkey", True))


def planted(size: str | Size, seed: int, certified: bool = False, window_days: int = 14) -> Planted:
    """Return a farm of a size, or of a named one; window_days: how far an arrival may be shifted either way."""
    asked = SIZES[size] if isinstance(size, str) else size
    random = Random(seed)
    for _ in range(FARMS):
        found = _Planter(asked, random, certified, 0 if certified else window_days).plant()
        if found is not None:
            return found
    raise ValueError(f"no farm of {asked} has room for all: ask for fewer batches or more housing")


def demand(kind: Kind) -> Demand:
    """Return the needs of one bird of a made-up kind, for every day of its life."""
    weeks = [kind.floor_cm2[min(day // WEEK, len(kind.floor_cm2) - 1)] for day in range(kind.leave_age)]
    return Demand(
        area_mm2=tuple(each * 100 for each in weeks),
        feeder_um=(0,) * kind.leave_age,
        drinker_um=(0,) * kind.leave_age,
        heat=tuple(day < kind.heat_days for day in range(kind.leave_age)),
    )


def batch(key: str, kind: Kind, birds: int, arrival: Arrival) -> Batch:
    """Return a batch of a made-up kind; one bird in fifty is planned to be lost by its third week."""
    return Batch(
        key=key,
        name=key,
        species=kind.species,
        birds=birds,
        demand=demand(kind),
        stages=tuple(Stage(frozenset({where}), first, stop) for where, first, stop in kind.stages),
        arrival=arrival,
        survivors=(birds, max(birds * 99 // 100, 1), max(birds * 98 // 100, 1)),
        leave_age_days=kind.leave_age,
    )


class _Planter:
    def __init__(self, size: Size, random: Random, certified: bool, window_days: int) -> None:
        self.size, self.random, self.certified, self.window_days = size, random, certified, window_days
        self.days = size.weeks * WEEK
        self.housings = self._housings()
        self.stays: dict[str, list[tuple[int, int, Batch, int]]] = {each.key: [] for each in self.housings}

    def plant(self) -> Planted | None:
        found = list[tuple[Batch, BatchPlan]]()
        for number in range(self.size.batches):
            placed = self._place(number)
            if placed is None:
                return None
            found.append(placed)
        batches = tuple(each for each, _ in found)
        problem = Problem(
            start=START,
            days=self.days,
            housings=tuple(replace(each, area_dm2=self._area(each)) for each in self.housings),
            batches=tuple(self._widen(each) for each in batches),
            apart=APART,
            # Company and nearly full housing cost something only where batches meet.
            weights=Weights(spare=0, mixing=0 if self.certified else 3),
        )
        return Planted(problem, tuple(plan for _, plan in found), self.certified)

    def _housings(self) -> tuple[Housing, ...]:
        count = self.size.housings
        brooders, pens = max(1, count * 2 // 5), max(1, count * 7 // 20)
        kinds = ["brooder"] * brooders + ["pen"] * pens + ["paddock"] * max(1, count - brooders - pens)
        return tuple(self._housing(number, kind) for number, kind in enumerate(kinds))

    def _housing(self, number: int, kind: str) -> Housing:
        alone = kind != "paddock" and self.random.random() < 0.6
        gap = {"brooder": 7, "pen": self.random.choice((14, 21, 28)), "paddock": None}[kind]
        season = kind == "paddock" and self.random.random() < 0.4
        return Housing(
            key=f"{kind}-{number:03}",
            name=f"{kind.title()} {number}",
            kind=kind,
            area_dm2=0,
            heated=kind == "brooder",
            indoor=kind != "paddock",
            one_batch=alone,
            max_age_gap_days=None if alone else gap,
            rest_days={"brooder": 2, "pen": 7, "paddock": 0}[kind] if alone else 0,
            in_service_from=START + timedelta(days=self.random.randrange(20, 60)) if season else None,
        )

    def _place(self, number: int) -> tuple[Batch, BatchPlan] | None:
        for _ in range(TRIES):
            kind = self.random.choice(KINDS)
            arrival = self.random.randrange(0, max(1, self.size.weeks * 4 // 5)) * WEEK
            one = batch(
                f"batch-{number:04}",
                kind,
                self.random.randrange(15, 160),
                Arrival(START + timedelta(days=arrival)),
            )
            legs = self._legs(one, kind, arrival)
            if legs is not None:
                for key, first, stop in legs:
                    self.stays[key].append((first, stop, one, arrival))
                return one, _plan(one, arrival, legs)
        return None

    def _legs(self, one: Batch, kind: Kind, arrival: int) -> list[tuple[str, int, int]] | None:
        found, begun = list[tuple[str, int, int]](), arrival
        for place, (where, _, to_age) in enumerate(kind.stages):
            end = arrival + kind.leave_age
            if place + 1 < len(kind.stages):
                assert to_age is not None
                choices = [
                    day
                    for day in range(arrival + kind.stages[place + 1][1], arrival + to_age + 1)
                    if day % WEEK == 0
                ]
                end = self.random.choice(choices)
            rooms = [
                each
                for each in self.housings
                if each.kind == where and self._free(each, one, arrival, begun, end)
            ]
            if not rooms:
                return None
            found.append((self.random.choice(rooms).key, begun, end))
            begun = end
        return found

    def _free(self, housing: Housing, one: Batch, arrival: int, first: int, stop: int) -> bool:
        opened = 0 if housing.in_service_from is None else (housing.in_service_from - START).days
        if first < opened:
            return False
        rest = housing.rest_days
        for start, end, other, came in self.stays[housing.key]:
            if first < end + rest and start < stop + rest:
                gap = housing.max_age_gap_days
                if housing.one_batch or (gap is not None and abs(came - arrival) > gap):
                    return False
                if one.species != other.species:
                    return False
        return True

    def _area(self, housing: Housing) -> int:
        asked = np.zeros(self.days + 200, dtype=np.int64)
        for first, stop, one, arrival in self.stays[housing.key]:
            asked[first:stop] += load(one, one.birds, np.arange(first, stop) - arrival).area_dm2
        spare = self.random.randint(*SPARE_PERCENT)
        return max(-(-int(asked.max()) * (100 + spare) // 100), 30)

    def _widen(self, one: Batch) -> Batch:
        if not self.window_days:
            return one
        day = one.arrival.day
        shift = timedelta(days=self.window_days)
        return replace(
            one,
            arrival=Arrival(day, max(day - shift, START), day + shift + timedelta(days=1), frozenset({5})),
        )


def _plan(one: Batch, arrival: int, legs: list[tuple[str, int, int]]) -> BatchPlan:
    def day(column: int) -> date:
        return START + timedelta(days=column)

    stays = tuple(PlanStay(key, day(first), day(stop)) for key, first, stop in legs)
    return BatchPlan(one.key, day(arrival), (PlanPart("1", one.birds, stays),))


def every(size: str, seeds: int, certified: bool = False) -> Iterator[Planted]:
    """Yield farms of a size for seeds 1 to `seeds`."""
    return (planted(size, seed, certified) for seed in range(1, seeds + 1))
