"""A plan's chains turned into stays: what must go, what must end on another day, what is new.

Birds that are here are in a stay already: it is the first link of their chain and only its end may change. Pinned
stays, and those against the programme for a recorded reason, are never touched: whatever the plan says of their days
is theirs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise

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
    pinned: bool = False


@dataclass
class Changes:
    """What to write for one batch. ends: stays with the day they are to end on, and whether they are pinned."""

    batch: Batch
    removed: list[Stay] = field(default_factory=list)
    ends: list[tuple[Stay, date | None, bool]] = field(default_factory=list)
    added: list[Piece] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.removed or self.ends or self.added)

    def first_day(self) -> date:
        """Return the first day anything would be otherwise."""
        days = [stay.start for stay in self.removed] + [piece.start for piece in self.added]
        days += [min(stay.end or _FAR, end or _FAR) for stay, end, _pinned in self.ends if end != stay.end]
        return min(days, default=_FAR)


def changes(batch: Batch, problem: Problem, plan: BatchPlan, *, loose: bool = False) -> Changes:
    """Return what makes a batch's stays those of `plan`, which solves `problem`; as little as can be.

    loose: the keeper has let go of the batch's pins. Pins that only the problem has, a trial's, become pinned stays.
    """
    asked = next(each for each in problem.batches if each.key == plan.batch)
    made = _Batch(batch, problem, asked, plan, loose)
    wanted = _merged(made.pieces())
    found = Changes(batch, ends=made.ends)
    for stay in made.planned:
        piece = Piece(str(stay.housing_id), stay.start, stay.end, made.taken[str(stay.pk)], stay.pinned)
        if piece in wanted:
            wanted.remove(piece)
        else:
            found.removed.append(stay)
    found.added = sorted(wanted, key=lambda piece: (piece.start, piece.housing, piece.birds))
    return found


class _Batch:
    """One batch of the plan beside its stays as they stand."""

    def __init__(
        self, row: Batch, problem: Problem, asked: planning.Batch, plan: BatchPlan, loose: bool
    ) -> None:
        self.problem, self.asked, self.plan, self.loose = problem, asked, plan, loose
        self.today = problem.start
        self.horizon = span(problem).end
        self.leaves = leave_day(asked, plan.arrival)
        self.closing = {housing.key: housing.in_service_to for housing in problem.housings}
        stays = list(row.stays.all())
        self.running = [stay for stay in stays if stay.start <= self.today < (stay.end or _FAR)]
        self.planned = [stay for stay in stays if stay.start > self.today and not self.fixed(stay)]
        self.kept = [stay for stay in stays if self.fixed(stay) and self.today < (stay.end or _FAR)]
        self.held = _held(row, stays, self.today)
        # A planned stay may still ask for birds that have died since: it begins with those there are.
        self.taken = head_counts.taken(heads.lines(list(row.count_entries.all())), heads.spans(stays))
        self.ends: list[tuple[Stay, date | None, bool]] = []

    def fixed(self, stay: Stay) -> bool:
        """Say whether a stay is not to be touched."""
        return not self.loose and is_fixed(stay)

    def pieces(self) -> list[Piece]:
        """Return the stays the plan wants beyond those the birds are in, and note where those must end."""
        found: list[Piece] = []
        for stay, firsts in self._firsts().items():
            found += self._go_on(stay, firsts)
        for part in self.plan.parts:
            here = self._stay_of(part.key) is not None
            for link in part.stays[1:] if here else part.stays:
                if link.housing is not None:
                    found += self._outside_pins(
                        part.key, Piece(link.housing, link.start, link.end, part.birds)
                    )
        return [replace(piece, end=self._end(piece.housing, piece.end)) for piece in found]

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
        if self.fixed(stay):
            until = stay.end or _FAR
        else:
            # A pin that follows in the same housing is, or becomes, a stay of its own; one that began ends the stay.
            until = min(min([end, *self._bounds(key)]) for key, _birds, end in firsts)
            pinned = any(self._wanted(key, housing, self.today) for key, _birds, _end in firsts)
            end = self._end(housing, until)
            if (end, pinned) != (stay.end, stay.pinned):
                self.ends.append((stay, end, pinned))
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

    def _bounds(self, part: str) -> list[date]:
        """Return the days ahead on which a pin of the part, kept or wished for, begins or ends."""
        edges = {edge for pin in self._pins(part) for edge in (pin.start, pin.end)}
        return sorted(edge for edge in edges if edge > self.today)

    def _pins(self, part: str) -> list[Pin]:
        found = [pin for pin in self.problem.pins if pin.batch == self.asked.key and pin.part in ("", part)]
        return sorted(found, key=lambda pin: (pin.start, pin.end))

    def _is_kept(self, pin: Pin) -> bool:
        """Say whether a pin is a stay that stands already."""
        return any(
            str(stay.housing_id) == pin.housing and stay.start <= pin.start < (stay.end or _FAR)
            for stay in self.kept
        )

    def _wanted(self, part: str, housing: str, day: date) -> bool:
        """Say whether a trial pins the part there on that day."""
        return any(
            pin.housing == housing and pin.start <= day < pin.end and not self._is_kept(pin)
            for pin in self._pins(part)
        )

    def _outside_pins(self, part: str, piece: Piece) -> Iterator[Piece]:
        """Yield a piece without the days of stays that are pinned already, cut where a wished for pin is."""
        assert piece.end is not None
        inside = [day for day in self._bounds(part) if piece.start < day < piece.end]
        for start, end in pairwise([piece.start, *inside, piece.end]):
            held = any(pin.start <= start < pin.end and self._is_kept(pin) for pin in self._pins(part))
            if not held:
                yield replace(piece, start=start, end=end, pinned=self._wanted(part, piece.housing, start))

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
    found: dict[Piece, int] = {}
    for piece in pieces:
        key = replace(piece, birds=0)
        found[key] = found.get(key, 0) + piece.birds
    return [replace(key, birds=birds) for key, birds in found.items()]
