"""What a keeper asks before an order: do so many more fit on a day, where not, and what would help?

Everyone else stays where they are planned to be: the answer disturbs nobody, so it is there at once.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from farm.models import Farm
from farm.phrase import Phrase
from farm.planning import headroom, score, seating, shortfalls, ways_out
from farm.planning.changes import AddBatch
from farm.planning.headroom import Cell, Headroom
from farm.planning.problem import Batch, Problem
from farm.planning.score import Bill
from farm.planning.shortfalls import Shortfall
from farm.planning.solution import Solution
from farm.planning.ways import Way
from farm.planning.yard import Yard, fitted
from farm.queries import planning

GoOn = Callable[[], bool]


@dataclass(frozen=True)
class Standing:
    """A problem with a plan of it, and the plan's bill."""

    problem: Problem
    solution: Solution
    bill: Bill

    def shortfalls(self) -> tuple[Shortfall, ...]:
        """Return what the plan lacks, by day."""
        return shortfalls.shortfalls(self.problem, self.solution.plans)

    def at(self, kind: str, housing: str | None, day: date, batch: str = "") -> Shortfall | None:
        """Return the shortfall of a kind in a housing (None: birds without one) on a day, None where there is none.

        batch: the one it is about, where several stand short of the same.
        """
        found = [
            one
            for one in self.shortfalls()
            if one.breach.kind == kind
            and one.breach.room == housing
            and one.breach.start <= day < one.breach.end
        ]
        return next((one for one in found if batch in one.breach.groups), found[0] if found else None)


@dataclass(frozen=True)
class Asked:
    """The answer to "how many more on this day?".

    cell: the most that fit, and what binds. before: the bill of the farm without them. birds: how many were asked for,
    0 for no number. change: the batch as a change to try. standing: the farm with that batch where it fits best, None
    without a number. short: what it lacks.
    """

    cell: Cell
    before: Bill
    birds: int
    change: AddBatch | None = None
    standing: Standing | None = None
    short: tuple[Shortfall, ...] = ()

    @property
    def fits(self) -> bool:
        """Say whether so many fit as asked."""
        return self.birds <= self.cell.birds


def adopted(farm: Farm, today: date, *, until: date | None = None, species: Collection[str] = ()) -> Standing:
    """Return the farm as it is planned now. until, species: of a batch that may still come."""
    return standing(planning.problem(farm, today, species=species, arrivals=[until] if until else []))


def year(
    now: Standing, kind: Batch, today: date, days: int = 365, held: Sequence[date | None] | None = None
) -> Headroom:
    """Return how many more of a type fit on each day from today on, nobody else moving. Raises ValueError.

    held: when each day's arrivals may live outdoors (`queries.headroom.held`), instead of what the type says of one.
    """
    if held is None:
        return headroom.fixed(now.problem, now.solution, [kind], today, days)
    free = replace(kind, outdoors_from=None)
    return headroom.fixed(now.problem, now.solution, [free], today, days, {kind.key: held})


def standing(problem: Problem, solution: Solution | None = None) -> Standing:
    """Return a plan of a problem with its bill; None for the adopted one."""
    plans = problem.adopted if solution is None else solution.plans
    bill = score.bill(problem, plans)
    return Standing(problem, solution or Solution(problem.digest, plans, bill.total, 0), bill)


def ask(now: Standing, kind: Batch, day: date, birds: int = 0) -> Asked:
    """Return whether `birds` of a type fit on a day beside everyone as they stand, and what is short if they do not.

    Raises ValueError as `headroom.fixed`.
    """
    cell = headroom.fixed(now.problem, now.solution, [kind], day, 1).cell(0, 0)
    if birds <= 0:
        return Asked(cell, now.bill, 0)
    batch = headroom.joining(kind, day, birds)
    change = AddBatch(batch)
    trial = change.apply(now.problem)
    found = Yard(trial, now.solution.plans).attempt(batch, day)
    plans = fitted(trial, (*now.solution.plans, found.plan))
    bill = score.bill(trial, plans)
    there = Standing(trial, Solution(trial.digest, plans, bill.total, 0), bill)
    own = tuple(one for one in there.shortfalls() if batch.key in one.breach.groups)
    return Asked(cell, now.bill, birds, change, there, () if birds <= cell.birds else own)


@dataclass(frozen=True, slots=True)
class RoomLeft:
    """How much of a type could still come over some arrival days: the most at once, and on how many days any at all."""

    name: str
    most: int
    days: int


def room_left(
    now: Standing,
    types: Sequence[Batch],
    first: date,
    days: int,
    held: Mapping[str, Sequence[date | None]] | None = None,
) -> tuple[RoomLeft, ...]:
    """Return what is left for each type on `days` arrival days from `first`, nobody else moving. Raises ValueError.

    held: by key, as `year` takes it.
    """
    if not types:
        return ()
    free = [replace(each, outdoors_from=None) if each.key in (held or {}) else each for each in types]
    found = headroom.fixed(now.problem, now.solution, free, first, days, held).birds
    return tuple(
        RoomLeft(one.name, int(birds.max()), int((birds > 0).sum()))
        for one, birds in zip(types, found, strict=True)
    )


def worst(found: tuple[Shortfall, ...]) -> Shortfall | None:
    """Return the gravest of shortfalls, the one that others hang on."""
    return max(found, key=lambda one: one.price, default=None)


def ways(now: Standing, shortfall: Shortfall, go_on: GoOn = lambda: True) -> ways_out.Answer:
    """Return the verified ways out of a shortfall, the cheapest first.

    go_on: asked after each kind of way; False ends the search with what there is.
    """

    def report(_kind: str, _way: Way | None) -> bool:
        return go_on()

    return ways_out.find(now.problem, now.solution, shortfall, report)


def unavoidable(now: Standing, shortfall: Shortfall, seconds: float = 1.0) -> Phrase | None:
    """Return the proof that every plan lacks floor on the shortfall's worst day; None where nothing is proved.

    seconds: at most. Asked only of floor and of birds without housing: the proof counts nothing else.
    """
    if shortfall.breach.kind not in ("room", "unhoused"):
        return None
    seated = seating.seat(now.problem, shortfall.breach.worst, seconds)
    return shortfall.verdict({seated.day: seated}) if seated.dm2 else None


def last_day(today: date) -> date:
    """Return the last arrival day that is answered for: a year ahead."""
    return today + timedelta(days=364)
