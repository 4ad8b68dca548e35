"""A rota as a mixed-integer model: a column for every person on every job, and one row or more for every wish.

The bill is that of `farm.planning.rota.score`, to the last unit; only the solver's tolerance comes between.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Set
from datetime import date
from itertools import pairwise
from math import gcd

import numpy as np
import numpy.typing as npt

from farm.planning.exact.model import Model, Outcome
from farm.planning.rota.choices import Choices, place
from farm.planning.rota.records import Assigned, Key, RotaJob, RotaProblem
from farm.planning.rota.score import Cell, week_of

#: Costs in the model for each unit of the bill: the solver stops a whole unit from the best, and a bill has fractions.
#: project default (judgement)
SCALE = 1000
#: A job and somebody who could be on it.
Seat = tuple[Key, str]


class RotaModel:
    """The model of a problem whose choices and targets are known. seats: the column of (job, person)."""

    def __init__(self, problem: RotaProblem, open_: Choices, targets: Mapping[str, float]) -> None:
        self.problem, self.open, self.targets = problem, open_, targets
        self.model, self.weights = Model(), problem.weights
        self.seats: dict[Seat, int] = {}
        for job in open_.jobs:
            self._seat(job)
        self._watch_children()
        self._fairness()
        self._weeks()
        inside = self._blocks()
        self._touched(inside)
        self._changes()
        self._unliked()

    def start(self, assigned: Assigned) -> dict[int, float]:
        """Return a rota as values of the columns of seats."""
        return {column: float(who in assigned.get(key, ())) for (key, who), column in self.seats.items()}

    def hold(self, assigned: Assigned, free: Set[Seat] | None = None) -> None:
        """Hold all seats as they are in a rota, but for the free ones; None frees all that no pin holds."""
        for seat, column in self.seats.items():
            key, who = seat
            taken, pinned = who in assigned.get(key, ()), who in self.open.pinned.get(key, ())
            loose = free is None or seat in free
            self.model.low[column] = float(pinned or (taken and not loose))
            self.model.high[column] = float(pinned or taken or loose)

    def relaxed(self, seconds: float) -> Outcome:
        """Minimise as if people could be split between seats."""
        whole, self.model.whole = self.model.whole, [False] * len(self.model.whole)
        try:
            return self.model.run(seconds)
        finally:
            self.model.whole = whole

    def read(self, values: npt.NDArray[np.float64]) -> Assigned:
        """Return the rota of values of the columns."""
        found: dict[Key, tuple[str, ...]] = {}
        for (key, who), column in self.seats.items():
            if values[column] > 0.5:
                found[key] = (*found.get(key, ()), who)
        return found

    def _column(self, weight: float, high: float = 1) -> int:
        return self.model.column(weight * SCALE, high)

    def _flat(self, cost: float) -> None:
        """Add a cost that is there whatever is chosen."""
        self.model.constant += round(cost * SCALE)

    def _of(self, job: RotaJob) -> dict[str, int]:
        return {who: self.seats[job.key, who] for who in self.open.may[job.key]}

    def _seat(self, job: RotaJob) -> None:
        seats = self.open.fillable[job.key]
        pinned = self.open.pinned.get(job.key, ())
        for who in self.open.may[job.key]:
            self.seats[job.key, who] = column = self.model.column(whole=True)
            self.model.low[column] = float(who in pinned)
        if seats:
            self.model.row(dict.fromkeys(self._of(job).values(), 1), seats, seats)
        self._flat(self.weights.unfilled * (job.people - seats))

    def _watch_children(self) -> None:
        """A child is at heat only where an adult is in the same place."""
        adults = {person.key for person in self.open.people if person.adult}
        children = {person.key for person in self.open.people if person.child} - adults
        there: dict[object, set[int]] = defaultdict(set)
        for job in self.open.jobs:
            there[place(job)] |= {column for who, column in self._of(job).items() if who in adults}
        for job in self.open.jobs:
            for who, column in self._of(job).items() if job.heated else ():
                if who in children:
                    self.model.row({column: -1, **dict.fromkeys(there[place(job)], 1)}, low=0)

    def _fairness(self) -> None:
        largest = self._column(self.weights.deviation, high=float("inf"))
        minutes: dict[str, dict[int, float]] = defaultdict(dict)
        for job in self.open.jobs:
            for who, column in self._of(job).items():
                minutes[who][column] = job.minutes
        for person in self.open.people:
            wanted, given = self.targets[person.key] - person.done, minutes[person.key]
            # Minutes are whole, and as coarse as the chores they are made of.
            step = gcd(*map(int, given.values()))
            off = wanted % step if step else 0.0
            self.model.low[largest] = max(self.model.low[largest], min(off, step - off))
            self.model.row({**given, largest: 1}, low=wanted)
            self.model.row({**given, largest: -1}, high=wanted)

    def _weeks(self) -> None:
        most = {person.key: person.max_week_minutes for person in self.open.people}
        weeks: dict[tuple[str, date], dict[int, float]] = defaultdict(dict)
        for job in self.open.jobs:
            week = week_of(job.day, self.problem.first_weekday)
            for who, column in self._of(job).items():
                weeks[who, week][column] = job.minutes
        for (who, _), given in weeks.items():
            wish = most[who]
            if wish is not None and sum(given.values()) > wish:
                self.model.row({**given, self._column(self.weights.over, float("inf")): -1}, high=wish)

    def _blocks(self) -> Mapping[Cell, Mapping[str, int]]:
        """Price everybody in a cell but one, and return the columns that say who is inside."""
        cells: dict[Cell, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
        for job in self.open.jobs:
            for who, column in self._of(job).items():
                cells[job.cell][who].append(column)
        found: dict[Cell, dict[str, int]] = {}
        for cell, people in cells.items():
            found[cell] = {}
            for who, columns in people.items():
                found[cell][who] = inside = self._column(self.weights.block)
                for column in columns:
                    self.model.row({inside: 1, column: -1}, low=0)
                self.model.row({inside: 1, **dict.fromkeys(columns, -1)}, high=0)
            if people:
                self.model.row(dict.fromkeys(found[cell].values(), 1), low=1)
                self._flat(-self.weights.block)
        return found

    def _touched(self, inside: Mapping[Cell, Mapping[str, int]]) -> None:
        before: dict[Cell, set[str]] = defaultdict(set)
        for job in self.open.jobs:
            before[job.cell].update(self.problem.previous.get(job.key, ()))
        for cell, people in before.items():
            here = inside.get(cell, {})
            if people and not people <= here.keys():
                self._flat(self.weights.touched)
            elif people:
                other = self._column(self.weights.touched)
                for who, column in here.items():
                    # Others than before: somebody of then is missing, or somebody new is there.
                    sign = 1 if who in people else -1
                    self.model.row({other: 1, column: sign}, low=max(sign, 0))

    def _changes(self) -> None:
        rows: dict[tuple[str, str], list[RotaJob]] = defaultdict(list)
        for job in self.open.jobs:
            rows[job.key[0], job.round].append(job)
        for row in rows.values():
            for before, after in pairwise(row):
                self._change(before, after)

    def _change(self, before: RotaJob, after: RotaJob) -> None:
        """Price others than the time before: as many come as go, so only who comes is looked at."""
        seats, weight = self.open.fillable[after.key], self.weights.change
        if seats != self.open.fillable[before.key]:
            self._flat(weight)
            return
        came, old = dict[int, float](), self._of(before)
        for who, column in self._of(after).items():
            new = self._column(0)
            self.model.row({new: 1, column: -1, **({old[who]: 1} if who in old else {})}, low=0)
            came[new] = -1.0
        if not came:
            return
        changed = self._column(weight)
        # All who come at once, and with more than one seat each alone: one exchanged is a whole change.
        self.model.row({changed: seats, **came}, low=0)
        if seats > 1:
            for new in came:
                self.model.row({changed: 1, new: -1}, low=0)

    def _unliked(self) -> None:
        fond = {person.key: person.prefers for person in self.open.people}
        for job in self.open.jobs:
            liking = [column for who, column in self._of(job).items() if job.job in fond[who]]
            if liking:
                self.model.row({self._column(self.weights.unliked): 1, **dict.fromkeys(liking, 1)}, low=1)
