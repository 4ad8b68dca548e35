"""Who lives where on which day: stays read by batch and by housing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from farm.planning.agenda.records import AgendaBatch, AgendaStay

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Home:
    """One housing in which a batch lives on a day, with that batch's birds there."""

    room: str
    name: str
    birds: int
    indoor: bool
    heated: bool
    first: bool  #: the batch's longest-standing housing that day; its steps carry no housing in their id


@dataclass(frozen=True, slots=True)
class Run:
    """Days [start, end) on which a housing is never empty; the cadence of its chores counts from `start`."""

    start: date
    end: date | None
    stays: tuple[AgendaStay, ...]


def _order(stay: AgendaStay) -> tuple[date, int, str]:
    return stay.start, len(stay.key), stay.key  # by length first, so that 9 stands before 10


class Homes:
    """Stays indexed both ways. A bird is nowhere before its hatch day, whatever the stay says."""

    def __init__(self, batches: Sequence[AgendaBatch], stays: Iterable[AgendaStay]) -> None:
        """Index the stays; ValueError when one is of a batch that is not given."""
        self.batches = {batch.key: batch for batch in batches}
        self.by_batch: dict[str, list[AgendaStay]] = {key: [] for key in self.batches}
        self.by_room: dict[str, list[AgendaStay]] = defaultdict(list)
        for stay in sorted(stays, key=_order):
            if stay.batch not in self.batches:
                raise ValueError(f"stay {stay.key} is of batch {stay.batch}, which is not given")
            if stay.end is None or stay.end > self.begins(stay):
                self.by_batch[stay.batch].append(stay)
                self.by_room[stay.room].append(stay)

    def begins(self, stay: AgendaStay) -> date:
        """Return the first day on which the stay has birds."""
        return max(stay.start, self.batches[stay.batch].hatch_day)

    def holds(self, stay: AgendaStay, day: date) -> bool:
        """Say whether the stay has birds on `day`."""
        return self.begins(stay) <= day and (stay.end is None or day < stay.end)

    def of(self, batch: str, day: date) -> tuple[Home, ...]:
        """Return where a batch lives on `day`, one home a housing, the longest-standing first."""
        rooms: dict[str, list[AgendaStay]] = {}
        for stay in self.by_batch[batch]:
            if self.holds(stay, day):
                rooms.setdefault(stay.room, []).append(stay)
        return tuple(
            Home(room, part[0].room_name, sum(s.birds for s in part), part[0].indoor, part[0].heated, i == 0)
            for i, (room, part) in enumerate(rooms.items())
        )

    def together(self, room: str, day: date) -> dict[str, int]:
        """Return the birds of each batch in a housing on `day`, in stay order."""
        found: dict[str, int] = {}
        for stay in self.by_room.get(room, ()):
            if self.holds(stay, day):
                found[stay.batch] = found.get(stay.batch, 0) + stay.birds
        return found

    @cached_property
    def runs(self) -> dict[str, tuple[Run, ...]]:
        """Return each housing's unbroken runs of days with birds, in order."""
        return {room: tuple(self._runs(stays)) for room, stays in self.by_room.items()}

    def _runs(self, stays: list[AgendaStay]) -> list[Run]:
        found: list[Run] = []
        for stay in sorted(stays, key=self.begins):
            last = found[-1] if found else None
            if last is None or (last.end is not None and last.end < self.begins(stay)):
                found.append(Run(self.begins(stay), stay.end, (stay,)))
                continue
            end = None if last.end is None or stay.end is None else max(last.end, stay.end)
            found[-1] = Run(last.start, end, (*last.stays, stay))
        return found
