"""A plan's chains turned into stays: what must go, what must end on another day, what is new.

Birds that are here are in a stay already: it is the first link of their chain and only its end may change. Pinned
stays, and those against the programme for a recorded reason, are never touched: whatever the plan says of their days
is theirs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from farm.models import Batch, Stay
from farm.planning import heads as head_counts
from farm.planning import problem as planning
from farm.planning.loads import leave_day, span
from farm.planning.problem import Pin, Problem
from farm.planning.solution import BatchPlan
from farm.queries import heads
from farm.queries.planning import is_fixed

_DAY = timedelta(days=1)
_FAR = date.max


@dataclass(frozen=True, slots=True)
class Piece:
    """`birds` of a batch in a housing, by its key, over [start, end); end None is until further notice."""

    housing: str
    start: date
    end: date | None
    birds: int


@dataclass
class Changes:
    """What to write for one batch. ends: stays with the day they are to end on instead."""

    batch: Batch
    removed: list[Stay] = field(default_factory=list)
    ends: list[tuple[Stay, date | None]] = field(default_factory=list)
    added: list[Piece] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.removed or self.ends or self.added)

    def first_day(self) -> date:
        """Return the first day anything would be otherwise."""
        days = [stay.start for stay in self.removed] + [piece.start for piece in self.added]
        days += [min(stay.end or _FAR, end or _FAR) for stay, end in self.ends]
        return min(days, default=_FAR)


def changes(batch: Batch, problem: Problem, plan: BatchPlan) -> Changes:
    """Return what makes a batch's stays those of `plan`, which solves `problem`; as little as can be."""
    asked = next(each for each in problem.batches if each.key == plan.batch)
    made = _Batch(batch, problem, asked, plan)
    wanted = _merged(made.pieces())
    found = Changes(batch, ends=made.ends)
    for stay in made.planned:
        piece = Piece(str(stay.housing_id), stay.start, stay.end, made.taken[str(stay.pk)])
        if piece in wanted:
            wanted.remove(piece)
        else:
            found.removed.append(stay)
    found.added = sorted(wanted, key=lambda piece: (piece.start, piece.housing, piece.birds))
    return found


class _Batch:
    """One batch of the plan beside its stays as they stand."""

    def __init__(self, row: Batch, problem: Problem, asked: planning.Batch, plan: BatchPlan) -> None:
        self.problem, self.asked, self.plan = problem, asked, plan
        self.today = problem.start
        self.horizon = span(problem).end
        self.leaves = leave_day(asked, plan.arrival)
        self.closing = {housing.key: housing.in_service_to for housing in problem.housings}
        stays = list(row.stays.all())
        self.running = [stay for stay in stays if stay.start <= self.today < (stay.end or _FAR)]
        self.planned = [stay for stay in stays if stay.start > self.today and not is_fixed(stay)]
        self.held = _held(row, stays, self.today)
        # A planned stay may still ask for birds that have died since: it begins with those there are.
        self.taken = head_counts.taken(heads.lines(list(row.count_entries.all())), heads.spans(stays))
        self.ends: list[tuple[Stay, date | None]] = []

    def pieces(self) -> list[Piece]:
        """Return the stays the plan wants beyond those the birds are in, and note where those must end."""
        found = []
        for stay, firsts in self._firsts().items():
            found += self._go_on(stay, firsts)
        for part in self.plan.parts:
            here = self._stay_of(part.key) is not None
            for link in part.stays[1:] if here else part.stays:
                if link.housing is not None:
                    found += self._outside_pins(
                        part.key, Piece(link.housing, link.start, link.end, part.birds)
                    )
        return [
            Piece(piece.housing, piece.start, self._end(piece.housing, piece.end), piece.birds)
            for piece in found
        ]

    def _firsts(self) -> dict[Stay, list[tuple[str, int, date]]]:
        """Return, for each stay birds are in now, its parts by key with their birds and the day they leave it."""
        found: dict[Stay, list[tuple[str, int, date]]] = {}
        for part in self.plan.parts:
            stay = self._stay_of(part.key)
            if stay is not None:
                found.setdefault(stay, []).append((part.key, part.birds, part.stays[0].end))
        return found

    def _go_on(self, stay: Stay, firsts: list[tuple[str, int, date]]) -> Iterator[Piece]:
        """Yield stays for birds that go on living where they are after others of their stay have left."""
        housing = str(stay.housing_id)
        if is_fixed(stay):
            until = stay.end or _FAR
        else:
            # A pinned stay that follows in the same housing is there already, and begins on its own day.
            until = min(min([end, *self._pinned_from(key)]) for key, _birds, end in firsts)
            end = self._end(housing, until)
            if end != stay.end:
                self.ends.append((stay, end))
        for key, birds, end in firsts:
            if end > until:
                yield from self._outside_pins(key, Piece(housing, until, end, birds))
        extra = sum(birds for _key, birds, _end in firsts) - self.held.get(stay.pk, 0)
        last = min(until, self.horizon)
        if extra > 0 and last > self.today + _DAY:  # birds that had no housing join the others
            yield Piece(housing, self.today + _DAY, last, extra)

    def _stay_of(self, key: str) -> Stay | None:
        """Return the stay a part is in today, None for birds that are yet to come or in no housing."""
        if not self.asked.history:
            return None
        if self.asked.parts:
            return next((stay for stay in self.running if str(stay.pk) == key.split(".")[0]), None)
        room = max(self.asked.history, key=lambda past: past.end).housing
        there = [stay for stay in self.running if str(stay.housing_id) == room]
        return max(there, key=lambda stay: self.held.get(stay.pk, 0), default=None)

    def _pins(self, part: str) -> list[Pin]:
        found = [pin for pin in self.problem.pins if pin.batch == self.asked.key and pin.part in ("", part)]
        return sorted(found, key=lambda pin: pin.start)

    def _pinned_from(self, part: str) -> list[date]:
        return [pin.start for pin in self._pins(part) if pin.start > self.today]

    def _outside_pins(self, part: str, piece: Piece) -> Iterator[Piece]:
        """Yield what is left of a piece beside the pins of its part: their own stays are there already."""
        assert piece.end is not None
        start = piece.start
        for pin in self._pins(part):
            if start < pin.start < piece.end:
                yield Piece(piece.housing, start, pin.start, piece.birds)
            if pin.start < piece.end and pin.end > start:
                start = max(start, pin.end)
        if start < piece.end:
            yield Piece(piece.housing, start, piece.end, piece.birds)

    def _end(self, housing: str, end: date | None) -> date | None:
        """Return the end as it is written: the plan's own last day is until further notice, where that can be."""
        if end is None or end < self.horizon or self.leaves is not None:
            return end
        return self.closing[housing]


def _held(row: Batch, stays: Iterable[Stay], day: date) -> Mapping[int, int]:
    found = dict.fromkeys((stay.pk for stay in stays), 0)
    return found | {stay.pk: birds for stay, birds in heads.places_on(row, day)[0]}


def _merged(pieces: Iterable[Piece]) -> list[Piece]:
    """Join parts that are in the same housing on the same days: they are one stay."""
    found: dict[tuple[str, date, date | None], int] = {}
    for piece in pieces:
        key = (piece.housing, piece.start, piece.end)
        found[key] = found.get(key, 0) + piece.birds
    return [Piece(housing, start, end, birds) for (housing, start, end), birds in found.items()]
