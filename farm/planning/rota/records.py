"""What a rota is made from and what it says: people, jobs, wishes, and who does what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from farm.phrase import Phrase

#: An occurrence of the agenda: source, due day, round.
Key = tuple[str, date, str]
#: Who does an occurrence: keys of persons, fewer than it needs where nobody was found.
Assigned = Mapping[Key, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class RotaPerson:
    """Somebody who can be given work.

    abilities: of "heat", "lifting", "water", "dosing", "slaughter". rounds: the (weekday, round)s they are there for,
    Monday 0. away: half-open spans of days. max_week_minutes: what they want at most in a week, None for no limit.
    share: their part of the work against the others' (1.0 is one full part). prefers, refuses: jobs. done: minutes
    really done in the part of the rolling window before the first planned day; present_before: days of that part on
    which they were there.
    """

    key: str
    name: str
    adult: bool
    child: bool
    abilities: frozenset[str]
    rounds: frozenset[tuple[int, str]]
    away: tuple[tuple[date, date], ...] = ()
    max_week_minutes: int | None = None
    share: float = 1.0
    prefers: frozenset[str] = frozenset()
    refuses: frozenset[str] = frozenset()
    done: int = 0
    present_before: int = 0


@dataclass(frozen=True, slots=True)
class RotaJob:
    """One occurrence that somebody has to do.

    day, round: when it is done, which a postponed occurrence's key no longer says. group: housings that stand together
    share one. room: the housing or machine, None for none. job: its key in the chore table or of an own chore. who:
    the least experienced who may do it: "adult", "helper" or "child". needs: abilities. people: hands needed at once,
    1 or 2. heated: heat equipment is on where it is done.
    """

    key: Key
    day: date
    round: str
    group: str
    room: str | None
    job: str
    title: Phrase
    minutes: int
    who: str
    needs: frozenset[str] = frozenset()
    people: int = 1
    heated: bool = False

    @property
    def cell(self) -> tuple[date, str, str]:
        """Return the day, round and group it is part of."""
        return self.day, self.round, self.group


@dataclass(frozen=True, slots=True)
class Weights:
    """What each wish weighs against the others: project default (judgement).

    unfilled: a seat nobody sits on. deviation: a minute of the largest distance from a fair share. over: a minute over
    what somebody wants at most in a week. block: one more person in a cell. change: a chore's person differs from the
    time before. unliked: a chore not given to any of those who prefer it. touched: a cell that others do than planned
    before.
    """

    unfilled: float = 1000.0
    deviation: float = 20.0
    over: float = 2.0
    block: float = 10.0
    change: float = 3.0
    unliked: float = 1.0
    touched: float = 12.0


@dataclass(frozen=True, slots=True)
class RotaProblem:
    """Who is to do these jobs. previous: the rota in force. pins: persons whom a keeper fixed to a job."""

    people: tuple[RotaPerson, ...]
    jobs: tuple[RotaJob, ...]
    previous: Assigned = field(default_factory=dict)
    pins: Assigned = field(default_factory=dict)
    first_weekday: int = 0
    weights: Weights = Weights()
    seed: int = 1


@dataclass(frozen=True, slots=True)
class Bill:
    """How far a rota is from what is wished, each in its own unit; cost weighs them together."""

    unfilled: int
    deviation: float
    over: int
    blocks: int
    changes: int
    unliked: int
    touched: int
    cost: float


@dataclass(frozen=True, slots=True)
class RotaAnswer:
    """A rota. bound: no rota costs less, as far as proven; gap: how far cost may be above the best, 0 when proven."""

    assigned: Assigned
    bill: Bill
    bound: float
    gap: float
    proved: bool = False
    dropped_pins: tuple[Key, ...] = ()


@dataclass(frozen=True, slots=True)
class Load:
    """A person's minutes over the rolling window. reachable: the most they could be given. why: what keeps them from
    their target, None where nothing does."""

    person: str
    target: float
    done: int
    assigned: int
    reachable: int
    why: Phrase | None = None


@dataclass(frozen=True, slots=True)
class Unfilled:
    """An occurrence short of hands. missing: how many. would_fill: what would help, the least first."""

    key: Key
    missing: int
    reason: Phrase
    would_fill: tuple[Phrase, ...] = ()


@dataclass(frozen=True, slots=True)
class CellChange:
    """A cell whose people differ. minutes: of its jobs."""

    day: date
    round: str
    group: str
    before: tuple[str, ...]
    after: tuple[str, ...]
    minutes: int
