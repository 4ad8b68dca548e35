"""How large a batch still fits: for every arrival day and type, disturbing nothing; and after planning others anew.

    table = headroom.fixed(problem, plan, types, first=date(2031, 5, 4))      # at once, exact
    for kept in headroom.refined(problem, plan, cells, report): ...           # one by one, each with its plan

A type is a `Batch` that stands for any number of its birds, kept in one part: needs, stages, stay and survivors in
proportion are read from it, its own count and arrival are not.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from farm.phrase import N_, Phrase, Value
from farm.planning import score, standing, widest
from farm.planning.changes import AddBatch, with_birds
from farm.planning.ground import Ground
from farm.planning.loads import Ints
from farm.planning.problem import Arrival, Batch, Housing, Problem
from farm.planning.solution import BatchPlan, Solution
from farm.planning.solve import Progress, solve
from farm.planning.state import State
from farm.planning.yard import DEAR, Yard, fitted

#: Where birds of a type stand that no housing of the farm takes.
NO_HOUSING = Housing("", "", "", 0)
#: When others are planned anew: the least step in the size of a batch, steps between the bounds, repairs for each try.
STEP, SPANS, REPAIRS = 5, 16, 100


@dataclass(frozen=True, slots=True)
class Cell:
    """The largest batch of a type that fits on an arrival day.

    birds: so many fit and one more does not. housing, day: what keeps it from being larger; where birds is 0, how far
    the best way gets, in a housing that takes such birds (NO_HOUSING where none ever does). unserved: the age in days
    that no housing of the farm takes them at, None where there is none.
    """

    type: str
    name: str
    arrival: date
    birds: int
    housing: Housing
    day: date
    unserved: int | None = None

    def sentence(self) -> Phrase:
        """Return the cell in a sentence."""
        values: dict[str, Value] = {
            "birds": self.birds, "name": self.name, "arrival": self.arrival, "housing": self.housing.name,
            "day": self.day, "age": self.unserved or 0,
        }  # fmt: skip
        if self.housing == NO_HOUSING:
            return Phrase(N_("No housing of the farm ever takes %(name)s"), values)
        if self.unserved is not None:
            return Phrase(
                N_("No housing of the farm takes %(name)s at %(age)d day of age"),
                values,
                N_("No housing of the farm takes %(name)s at %(age)d days of age"),
                "age",
            )
        if not self.birds:
            text = N_(
                "No room for %(name)s arriving %(arrival)s: the best way ends on %(day)s at %(housing)s"
            )
            return Phrase(text, values)
        return Phrase(
            N_(
                "%(birds)d bird (%(name)s) fits on %(arrival)s: %(housing)s on %(day)s leaves no room for more"
            ),
            values,
            N_(
                "%(birds)d birds (%(name)s) fit on %(arrival)s: %(housing)s on %(day)s leaves no room for more"
            ),
            "birds",
        )


@dataclass(frozen=True, eq=False)
class Headroom:
    """Types × arrival days: birds, the row of the housing and the column of the day that bind, unserved ages.

    row: -1 where no housing ever takes the type; unserved: -1 where every age of its life has a housing.
    """

    problem: Problem
    types: tuple[Batch, ...]
    first: date
    birds: Ints
    row: Ints
    column: Ints
    unserved: Ints

    def cell(self, place: int, day: int) -> Cell:
        """Return the cell of a type, by its place, and an arrival day, counted from the first."""
        window, row = self.problem.window, int(self.row[place, day])
        unserved = int(self.unserved[place, day])
        return Cell(
            type=self.types[place].key,
            name=self.types[place].name,
            arrival=window.day(window.index(self.first) + day),
            birds=int(self.birds[place, day]),
            housing=NO_HOUSING if row < 0 else self.problem.housings[row],
            day=window.day(int(self.column[place, day])),
            unserved=None if unserved < 0 else unserved,
        )


def fixed(
    problem: Problem,
    solution: Solution,
    types: Sequence[Batch],
    first: date | None = None,
    days: int = 365,
    held: Mapping[str, Sequence[date | None]] | None = None,
) -> Headroom:
    """Return the largest batch of each type for every arrival on `days` days from `first`, nobody else moving.

    It fits when it adds no shortage and breaks no rule, moving where `lanes` lets it. A type that never leaves is
    judged to the last day asked about, or the plan's last if later. held: by the key of a type, the first day each
    arrival may live outdoors, beside what the type itself says; None in it where age alone decides. Raises ValueError
    for days before the plan.
    """
    at = problem.window.index(first or problem.start)
    if at < 0 or days < 1:
        raise ValueError("headroom is for days of the plan and after")
    if not problem.housings:
        raise ValueError("a farm without housing has no headroom")
    state = standing.of(problem, solution.plans, widest.horizon(tuple(types), at, days))
    found = [widest.ways(state, each, at, days, _held(problem, (held or {}).get(each.key))) for each in types]
    tables = [
        np.array([getattr(each, name) for each in found]) for name in ("birds", "row", "column", "unserved")
    ]
    return Headroom(problem, tuple(types), first or problem.start, *tables)


def _held(problem: Problem, days: Sequence[date | None] | None) -> Ints | None:
    """Return days as columns; before the first column where nothing is held back."""
    if days is None:
        return None
    return np.array([-1 if day is None else problem.window.index(day) for day in days], dtype=np.int64)


@dataclass(frozen=True)
class Kept:
    """How many birds fit once others are planned anew, with the problem and the plan that show it.

    best: more cannot fit whatever is planned. solution: None where no batch at all fits.
    """

    type: str
    arrival: date
    birds: int
    best: bool
    problem: Problem
    solution: Solution | None


Told = Callable[[int, int], bool]


def refined(
    problem: Problem, solution: Solution, cells: Iterable[tuple[Batch, date]], report: Told | None = None
) -> Iterator[Kept]:
    """Yield `replanned` for each (type, arrival day); report(done, of all) returning False ends it."""
    wanted = list(cells)
    for done, (kind, arrival) in enumerate(wanted):
        if report is not None and not report(done, len(wanted)):
            return
        yield replanned(problem, solution, kind, arrival)
    if report is not None:
        report(len(wanted), len(wanted))


def replanned(
    problem: Problem, solution: Solution, kind: Batch, arrival: date, repairs: int = REPAIRS
) -> Kept:
    """Return the largest batch found to fit when stays that are not pinned may change: a promise with its plan.

    Fits means: no more shortage and no more broken wishes than the plan has now. Sizes are tried between the largest
    that disturbs nobody and the largest an otherwise empty farm would hold, to 5 birds or a sixteenth of that span.
    """
    low = int(fixed(problem, solution, [kind], arrival, 1).birds[0, 0])
    high = min(_empty(problem, kind, arrival), widest.MOST)
    trial, kept = problem, None
    if low:
        trial, kept = _undisturbed(problem, solution, kind, arrival, low)
    found = low if kept is not None else 0
    step = max(STEP, (high - low) // SPANS)
    reached, refused = 0, -(-(high - low) // step) + 1
    middle = refused - 1  # the most there can be first: planning anew often gets there
    while refused - reached > 1:
        birds = min(low + middle * step, high)
        tried, plan = _probe(problem, kept or solution, kind, arrival, birds, repairs)
        if plan is None:
            refused = middle
        else:
            reached, found, trial, kept = middle, birds, tried, plan
        middle = (reached + refused) // 2
    return Kept(kind.key, arrival, found, found == high, trial, kept)


def joining(kind: Batch, arrival: date, birds: int) -> Batch:
    """Return a type as a batch of so many birds arriving on a day, in one part."""
    return replace(with_birds(kind, birds), arrival=Arrival(arrival), history=(), parts=(), max_parts=1)


def _empty(problem: Problem, kind: Batch, arrival: date) -> int:
    """Return the largest batch the farm holds with nobody else in it, only rest days running."""
    at = problem.window.index(arrival)
    days = max(widest.horizon((kind,), at, 1), problem.days)
    ground = Ground(replace(problem, days=days, adopted=(), pins=(), batches=()))
    return int(widest.ways(State(ground), kind, at, 1).birds[0])


def _undisturbed(
    problem: Problem, solution: Solution, kind: Batch, arrival: date, birds: int
) -> tuple[Problem, Solution | None]:
    """Return the problem with a batch that fits, and the plan with it in and nobody else moved."""
    trial, rest = _joined(problem, solution, kind, arrival, birds)
    attempt = Yard(trial, rest).attempt(joining(kind, arrival, birds), arrival)
    return trial, None if attempt.short else _answer(trial, fitted(trial, (*rest, attempt.plan)))


def _joined(
    problem: Problem, solution: Solution, kind: Batch, arrival: date, birds: int
) -> tuple[Problem, tuple[BatchPlan, ...]]:
    """Return the problem with the batch and the others' plans adopted, and those plans."""
    rest = tuple(plan for plan in solution.plans if plan.batch != kind.key)
    return replace(AddBatch(joining(kind, arrival, birds)).apply(problem), adopted=rest), rest


def _answer(trial: Problem, plans: tuple[BatchPlan, ...]) -> Solution:
    return Solution(trial.digest, plans, score.bill(trial, plans).total, 0)


def _probe(
    problem: Problem, solution: Solution, kind: Batch, arrival: date, birds: int, repairs: int
) -> tuple[Problem, Solution | None]:
    """Return the problem with the batch, and a plan of it without anything worse than now, None if none was found."""
    trial, rest = _joined(problem, solution, kind, arrival, birds)
    weights = problem.weights
    dear = {
        name: getattr(weights, name) * DEAR
        for name in ("room", "nowhere", "feeder", "drinker", "cold", "pins")
    }
    strict = replace(trial, weights=replace(weights, **dear))
    now = _worries(problem, rest)
    found: list[Solution] = []

    def watch(progress: Progress) -> bool:
        if progress.improved:
            plan = progress.solution()
            if all(new <= old for new, old in zip(_worries(trial, plan.plans), now, strict=True)):
                found.append(plan)
        return not found

    solve(strict, iterations=repairs, report=watch)
    if not found:
        return trial, None
    return trial, _answer(trial, found[0].plans)


def _worries(problem: Problem, plans: Iterable[BatchPlan]) -> tuple[int, int]:
    """Return what a plan lacks: the price of its shortages, and of wishes not kept."""
    bill = score.bill(problem, plans)
    return bill.shortfall, bill.cost("pins") + bill.cost("misplaced")
