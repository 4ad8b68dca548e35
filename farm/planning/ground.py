"""A problem as whole-number arrays: rows are housings, columns are days of the plan's span.

Species fall into classes: two birds are of one class when every rule of company treats them alike, now. A species that
is parted from another only while brooding is of two classes, with and without heat.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cached_property
from typing import NamedTuple

import numpy as np

from farm.planning import suits
from farm.planning.loads import Ints, load, span
from farm.planning.problem import Batch, Housing, Problem
from farm.planning.solution import BatchPlan

#: More than any plan can cost: one forbidden cell. Sums of it stay exact in int64.
BLOCKED = 1 << 42
#: Floor of a resource nobody recorded.
PLENTY = 1 << 40
#: A day no hatch reaches, either way.
FAR = 1 << 30


class Resource(NamedTuple):
    """Something that runs short: its price a unit and day, what is given (housing × day), its field of Load."""

    weight: int
    given: Ints
    field: str


class Ground:
    """What the engine reads on every step; made once for a problem, never changed."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.weights = problem.weights
        self.days = span(problem)
        self.width = self.days.days
        self.housings: tuple[Housing, ...] = problem.housings
        self.row: Mapping[str, int] = {housing.key: at for at, housing in enumerate(self.housings)}
        self.shape = (len(self.housings), self.width)
        given = [suits.given(housing, self.days) for housing in self.housings]
        tables = [np.array([each[i] for each in given], dtype=np.int64).reshape(self.shape) for i in range(3)]
        self.area = tables[0]
        self.resources = [Resource(self.weights.room, self.area, "area_dm2")]
        for weight, table, field in (
            (self.weights.feeder, tables[1], "feeder_mm"),
            (self.weights.drinker, tables[2], "drinker_mm"),
        ):
            if weight and table.any():
                self.resources.append(Resource(weight, np.where(table > 0, table, PLENTY), field))
        self.nearly_full = self.area * 90 // 100
        weekday = (np.arange(self.width) + problem.start.weekday()) % 7
        welcome = problem.move_weekdays or frozenset(range(7))
        self.welcome = np.isin(weekday, sorted(welcome))
        self.classes = Classes(problem)
        self.gates = self._gates()
        self.adopted: Mapping[str, BatchPlan] = {plan.batch: plan for plan in problem.adopted}

    def _gates(self) -> Mapping[int, frozenset[int]]:
        """Return, by row, the last columns to leave by before something fixed, and the first to enter on after it."""
        found: dict[int, set[int]] = {}
        fixed: list[tuple[str, date | None, date]] = [
            (pin.housing, pin.start, pin.end) for pin in self.problem.pins
        ]
        fixed += [(past.housing, None, past.end) for batch in self.batches for past in batch.history]
        fixed += [(left.housing, None, left.day) for left in self.problem.left]
        for key, start, end in fixed:
            row = self.row[key]
            rest = self.housings[row].rest_days
            days = found.setdefault(row, set())
            days.add(self.days.index(end) + rest)
            if start is not None:
                days.add(self.days.index(start) - rest)
        return {row: frozenset(days) for row, days in found.items()}

    @cached_property
    def batches(self) -> tuple[Batch, ...]:
        """Return the batches in key order: the engine knows a batch by its place here."""
        return self.problem.batches

    def loads(self, batch: Batch, birds: int, arrival: int, first: int, stop: int) -> list[Ints]:
        """Return the load of a part by resource over the columns [first, stop), arriving on column `arrival`."""
        ages = np.arange(first, stop) - arrival + batch.age_at_arrival_days
        found = load(batch, birds, ages)
        return [getattr(found, resource.field) for resource in self.resources]


class Classes:
    """The classes of species, and which of them a batch's birds keep out of a housing."""

    def __init__(self, problem: Problem) -> None:
        self.rules = problem.apart
        named = sorted({species for rule in self.rules for species in (rule.one, rule.other)})
        self.of: dict[tuple[str, bool], int] = {}
        self.members: list[tuple[str, bool]] = [("", False)]
        for species in named:
            self.of[species, False] = self.of[species, True] = len(self.members)
            self.members.append((species, False))
            if any(rule.brooding_only and species in (rule.one, rule.other) for rule in self.rules):
                self.of[species, True] = len(self.members)
                self.members.append((species, True))

    def __len__(self) -> int:
        return len(self.members)

    def index(self, species: str, brooding: bool) -> int:
        """Return the class of a bird; 0 is every species no rule names."""
        return self.of.get((species, brooding), 0)

    def parted(self, one: int, species: str, brooding: bool) -> bool:
        """Return whether a class never shares a housing with such birds."""
        own, warm = self.members[one]
        return any(
            {own, species} == {rule.one, rule.other} and (not rule.brooding_only or warm or brooding)
            for rule in self.rules
            if own != species or rule.one == rule.other
        )

    def rest_days(self, housing: Housing, one: int, species: str) -> int:
        """Return the days between birds of a class and birds of a species in a housing, either first."""
        own = self.members[one][0]
        longer = [
            rule.ground_rest_days
            for rule in self.rules
            if not housing.indoor and not rule.brooding_only and {own, species} == {rule.one, rule.other}
        ]
        return max([housing.rest_days, *longer])
