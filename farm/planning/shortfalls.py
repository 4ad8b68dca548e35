"""Every shortfall of a plan in a sentence: housing, days, birds, floor, and what brings it about.

What is short is counted where `score` counts it, so a plan without shortfalls here has a bill without any; the
sentences are those of the board.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from farm.phrase import N_, Phrase, Quantity, Value
from farm.planning import explain, plan_rooms, suits
from farm.planning.breach import Breach, worst_runs
from farm.planning.loads import Ints, load
from farm.planning.occupancy import Occupancy
from farm.planning.problem import Batch, Housing, Problem
from farm.planning.solution import BatchPlan
from farm.planning.tables import Tables, tables

if TYPE_CHECKING:  # the solver behind it is heavy, and a shortfall needs none
    from farm.planning.seating import Seating

#: Kind of breach -> the tables of what is asked and given, and how many of their units make one of the breach's.
MEASURES = {
    "room": ("area", "area_given", 100),
    "feeder": ("feeder", "feeder_given", 10),
    "drinker": ("drinker", "drinker_given", 10),
}


@dataclass(frozen=True, slots=True)
class Shortfall:
    """One run of days on which birds lack floor, edge, heat or a housing.

    breach: kind ("room", "feeder", "drinker", "heat", "unhoused"), housing, batches, days, worst day, how much and how
    many birds. price: what the bill counts for it. why: for birds without a housing, what keeps each housing of their
    kind closed to them on the worst day.
    """

    breach: Breach
    sentence: Phrase
    price: int
    why: tuple[Phrase, ...] = ()

    def verdict(self, proved: Mapping[date, Seating]) -> Phrase:
        """Return whether it could be avoided on its worst day, by the proofs of `seating.unavoidable`."""
        found = proved.get(self.breach.worst)
        values: dict[str, Value] = {
            "day": self.breach.worst,
            "floor": Quantity((found.dm2 if found else 0) / 100, "m2", 2),
        }
        if found is None or not found.dm2:
            return Phrase(N_("We found nothing better; that nothing is better is not proved"))
        return Phrase(N_("Unavoidable: on %(day)s every plan lacks at least %(floor)s on the farm"), values)


def shortfalls(problem: Problem, plans: Iterable[BatchPlan]) -> tuple[Shortfall, ...]:
    """Return every shortfall of the plan by its first day, then housing. Raises KeyError for unknown keys."""
    return _Finder(problem, tuple(plans)).all()


class _Finder:
    def __init__(self, problem: Problem, plans: tuple[BatchPlan, ...]) -> None:
        self.problem, self.plans = problem, plans
        self.table: Tables = tables(problem, plans)
        self.batches: Mapping[str, Batch] = {batch.key: batch for batch in problem.batches}

    @cached_property
    def load(self) -> Occupancy:
        """The whole span as the board sees it: for names and causes."""
        return plan_rooms.load(replace(self.problem, days=self.table.days.days), self.plans)

    def all(self) -> tuple[Shortfall, ...]:
        found = [*self._too_small(), *self._by_batch("heat"), *self._by_batch("unhoused")]
        found.sort(key=lambda item: (item[0].start, item[0].room or "", item[0].kind, item[0].groups))
        return tuple(
            Shortfall(
                one, explain.sentence(one, self.load), price, self._why(one) if one.kind == "unhoused" else ()
            )
            for one, price in found
        )

    def _too_small(self) -> Iterator[tuple[Breach, int]]:
        for kind, (asked, given, unit) in MEASURES.items():
            over = getattr(self.table, asked) - getattr(self.table, given)
            if kind != "room":
                over = np.where(getattr(self.table, given) > 0, over, 0)
            for row in np.flatnonzero((over > 0).any(axis=1)):
                for run in worst_runs(np.maximum(over[row], 0).astype(np.float64)):
                    key = self.problem.housings[row].key
                    birds = -(
                        -int(run.short)
                        * int(self.table.birds[row, run.worst])
                        // int(getattr(self.table, asked)[row, run.worst])
                    )
                    groups = inside(self.problem, self.plans, key, self.table.days.day(run.worst))
                    price = int(over[row, run.first : run.stop].sum()) * int(
                        getattr(self.problem.weights, kind)
                    )
                    one = replace(run, short=run.short / unit)
                    yield one.breach(self.table.days, kind, key, tuple(groups), birds), price

    def _by_batch(self, kind: str) -> Iterator[tuple[Breach, int]]:
        """Yield the runs of days on which birds of one batch are nowhere, or in the cold in one housing."""
        for plan in self.plans:
            batch = self.batches[plan.batch]
            found: dict[str | None, tuple[Ints, Ints]] = {}
            for part in plan.parts:
                for stay in part.stays:
                    first, stop = self.table.days.index(stay.start), self.table.days.index(stay.end)
                    ages = (
                        np.arange(first, stop)
                        - self.table.days.index(plan.arrival)
                        + batch.age_at_arrival_days
                    )
                    asks = load(batch, part.birds, ages)
                    heated = stay.housing is None or self._heated(stay.housing)
                    birds = (
                        (asks.birds if stay.housing is None else asks.birds * 0)
                        if kind == "unhoused"
                        else asks.cold * (not heated)
                    )
                    if birds.any():
                        empty = np.zeros((2, self.table.days.days), dtype=np.int64)
                        head, area = found.setdefault(stay.housing, (empty[0], empty[1]))
                        head[first:stop] += birds
                        area[first:stop] += asks.area_dm2
            for housing, (head, area) in found.items():
                short = area / 100 if kind == "unhoused" else head.astype(np.float64)
                for run in worst_runs(short, broken=head > 0):
                    days, weights = slice(run.first, run.stop), self.problem.weights
                    price = (
                        int(area[days].sum()) * weights.nowhere
                        if kind == "unhoused"
                        else int(head[days].sum()) * weights.cold
                    )
                    yield (
                        run.breach(self.table.days, kind, housing, (batch.key,), int(head[run.worst])),
                        price,
                    )

    def _heated(self, key: str) -> bool:
        return next(housing.heated for housing in self.problem.housings if housing.key == key)

    def _why(self, breach: Breach) -> tuple[Phrase, ...]:
        batch = self.batches[breach.groups[0]]
        plan = next(each for each in self.plans if each.batch == batch.key)
        age = (breach.worst - plan.arrival).days + batch.age_at_arrival_days
        wanted = round(breach.short * 100)
        kinds = {
            kind
            for stage in batch.stages
            if _holds(stage.from_age, stage.to_age, age)
            for kind in stage.kinds
        }
        found = []
        for row, housing in enumerate(self.problem.housings):
            if housing.kind in kinds:
                found.append(self._reason(row, batch, age, breach.worst, wanted))
        return tuple(found)

    def _reason(self, row: int, batch: Batch, age: int, day: date, wanted: int) -> Phrase:
        housing, column = self.problem.housings[row], self.table.days.index(day)
        name = {"room": housing.name}
        window = replace(self.table.days, start=day, days=1)
        ages = np.array([age])
        if not suits.in_service(housing, window)[0]:
            return Phrase(N_("%(room)s is not in use that day"), name)
        if not suits.suitable(batch, housing, ages, window)[0]:
            return Phrase(N_("%(room)s is ruled out for them: species, season or your own word"), name)
        if not suits.warm(batch, housing, ages)[0]:
            return Phrase(N_("%(room)s has no heat"), name)
        there = inside(self.problem, self.plans, housing.key, day)
        free = int(self.table.area_given[row, column] - self.table.area[row, column])
        values: dict[str, Value] = {
            **name,
            "batches": ", ".join(self.batches[key].name for key in there),
            "free": Quantity(max(free, 0) / 100, "m2", 2),
            "wanted": Quantity(wanted / 100, "m2", 2),
        }
        if there and housing.one_batch:
            return Phrase(N_("%(room)s is for one batch at a time and holds %(batches)s"), values)
        if free < wanted:
            return Phrase(N_("%(room)s has %(free)s free of the %(wanted)s they need"), values)
        if there:
            return Phrase(N_("%(room)s has room, but they may not join %(batches)s, or not in time"), values)
        return self._empty(housing, day)

    def _empty(self, housing: Housing, day: date) -> Phrase:
        """Return what closes a housing nobody is in that day: its rest, who comes next, or nothing on that day."""
        stays = [
            (stay.start, stay.end, self.batches[plan.batch].name)
            for plan in self.plans
            for part in plan.parts
            for stay in part.stays
            if stay.housing == housing.key
        ]
        rest = timedelta(days=housing.rest_days)
        resting = max(((end + rest, name) for _, end, name in stays if end <= day < end + rest), default=None)
        if resting is not None:
            values: dict[str, Value] = {"room": housing.name, "ready": resting[0], "batch": resting[1]}
            return Phrase(N_("%(room)s rests until %(ready)s after %(batch)s"), values)
        coming = min(((start, name) for start, _, name in stays if start > day), default=None)
        if coming is not None:
            values = {"room": housing.name, "day": coming[0], "batch": coming[1]}
            return Phrase(N_("%(room)s is empty that day, but %(batch)s come on %(day)s"), values)
        return Phrase(N_("%(room)s is empty that day"), {"room": housing.name})


def inside(problem: Problem, plans: Iterable[BatchPlan], housing: str, day: date) -> dict[str, int]:
    """Return the dm² every batch asks for in a housing on a day, the largest first."""
    batches, found = {batch.key: batch for batch in problem.batches}, dict[str, int]()
    for plan in plans:
        batch = batches[plan.batch]
        for part in plan.parts:
            if any(stay.housing == housing and stay.start <= day < stay.end for stay in part.stays):
                age = (day - plan.arrival).days + batch.age_at_arrival_days
                asks = load(batch, part.birds, np.array([age]))
                found[plan.batch] = found.get(plan.batch, 0) + int(asks.area_dm2[0])
    return dict(sorted(found.items(), key=lambda item: (-item[1], item[0])))


def _holds(first: int, stop: int | None, age: int) -> bool:
    return first <= age and (stop is None or age < stop)
