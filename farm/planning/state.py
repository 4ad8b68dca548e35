"""Who is where: the arrays one insertion reads, kept up to date one stay at a time.

All arrays are housing × day, flat where an insertion takes cells from them:

- `room[r]`: what is still free of resource r, never below zero (only the free part can be filled without shortage);
- `crowd`: what it costs to be there beside others; `slack`: floor free below the nearly-full mark;
- `low`, `high` by class: the hatch days allowed there: an insertion at hatch h needs low <= h <= high;
- `entry`, `exit` by class: how many stays forbid entering, or leaving, on that day because of rest days.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import NamedTuple

import numpy as np

from farm.planning.ground import FAR, Ground
from farm.planning.loads import Ints

#: A lowest hatch day that bars everyone; `maximum` keeps it.
NOBODY = FAR + 1


class Entry(NamedTuple):
    """One stay as it stands: a row over columns [start, stop); end is where it is really left, None if never.

    begin: the column it really began on. batch: its place among the batches, -1 for birds long gone. brood_end: first
    column without need of heat. held: nobody is there, but the place is kept for a pin the batch may come to.
    """

    row: int
    start: int
    stop: int
    end: int | None
    begin: int
    batch: int
    hatch: int
    species: str
    brood_end: int
    held: bool = False


class State:
    """The farm with some stays in it; `place` and `lift` are exact inverses."""

    def __init__(self, ground: Ground, spare: int | None = None) -> None:
        self.ground = ground
        #: The price of a day nearly full; a lower bound must leave it out, for two full batches cost it once.
        self.spare = ground.weights.spare if spare is None else spare
        rows, width = ground.shape
        classes = len(ground.classes)
        self.free = [resource.given.copy() for resource in ground.resources]
        self.room = [resource.given.copy() for resource in ground.resources]
        self.slack = ground.nearly_full.copy()
        self.crowd = np.zeros(ground.shape, dtype=np.int64)
        self.low = np.full((classes, rows, width), -FAR, dtype=np.int64)
        self.high = np.full((classes, rows, width), FAR, dtype=np.int64)
        self.entry = np.zeros((classes, rows, width + 1), dtype=np.int32)
        self.exit = np.zeros((classes, rows, width + 1), dtype=np.int32)
        self.here: list[list[Entry]] = [[] for _ in range(rows)]
        self.flat_room = [each.reshape(-1) for each in self.room]
        self.flat_slack, self.flat_crowd = self.slack.reshape(-1), self.crowd.reshape(-1)
        self.flat_low, self.flat_high = self.low.reshape(-1), self.high.reshape(-1)
        self.flat_entry, self.flat_exit = self.entry.reshape(-1), self.exit.reshape(-1)
        species = {batch.species for batch in ground.batches} | {left.species for left in ground.problem.left}
        self._rests = {
            (row, each): _joined([ground.classes.rest_days(housing, one, each) for one in range(classes)])
            for row, housing in enumerate(ground.housings)
            for each in species
        }
        self._parted = {
            (each, brooding): [ground.classes.parted(one, each, brooding) for one in range(classes)]
            for each in species
            for brooding in (True, False)
        }
        #: Whether any rule of company can ever forbid a cell.
        self.ruled = classes > 1 or any(
            housing.one_batch or housing.max_age_gap_days is not None for housing in ground.housings
        )
        for left in ground.problem.left:
            day = ground.days.index(left.day)
            if day > -400:
                self._rest(Entry(ground.row[left.housing], day, day, day, day, -1, 0, left.species, 0), 1)

    def place(self, entry: Entry, loads: Sequence[Ints]) -> None:
        """Put a stay in; loads by resource over its columns."""
        self._fill(entry, loads, np.subtract)
        self.here[entry.row].append(entry)
        self._rest(entry, 1)
        self._apply(entry, entry.start, entry.stop)

    def lift(self, entry: Entry, loads: Sequence[Ints]) -> None:
        """Take a stay out again."""
        self._fill(entry, loads, np.add)
        self.here[entry.row].remove(entry)
        self._rest(entry, -1)
        self.refresh(entry.row, entry.start, entry.stop)

    def marginal(self, row: int, start: int, stop: int, loads: Sequence[Ints]) -> int:
        """Return what a stay there would add to the costs of shortage, mixing and nearly full housing."""
        added = int(self.crowd[row, start:stop].sum())
        for resource, room, asked in zip(self.ground.resources, self.room, loads, strict=True):
            added += resource.weight * int((asked - np.minimum(room[row, start:stop], asked)).sum())
        if self.spare:
            slack = self.slack[row, start:stop]
            added += self.spare * int(((slack >= 0) & (slack < loads[0])).sum())
        return added

    @contextmanager
    def blind_to(self, batch: int) -> Iterator[None]:
        """Lift the rules of company of a batch's own parts, which may always share; their load stays."""
        own = [entry for row in self.here for entry in row if entry.batch == batch]
        for entry in own:
            self._rest(entry, -1)
            self.refresh(entry.row, entry.start, entry.stop, batch)
        try:
            yield
        finally:
            for entry in own:
                self._rest(entry, 1)
                self.refresh(entry.row, entry.start, entry.stop)

    def refresh(self, row: int, start: int, stop: int, but: int = -2) -> None:
        """Work out the rules of company on a stretch anew, from everyone there `but` one batch."""
        self.crowd[row, start:stop] = 0
        self.low[:, row, start:stop] = -FAR
        self.high[:, row, start:stop] = FAR
        own = []
        for other in self.here[row]:
            if other.start < stop and start < other.stop:
                if other.batch == but:
                    own.append(other)
                else:
                    self._apply(other, max(start, other.start), min(stop, other.stop))
        for other in own:  # One batch's parts together are one batch: where it is, another part adds none.
            if not other.held:
                self.crowd[row, max(start, other.start) : min(stop, other.stop)] = 0

    def _fill(self, entry: Entry, loads: Sequence[Ints], change: np.ufunc) -> None:
        row, start, stop = entry.row, entry.start, entry.stop
        for free, room, asked in zip(self.free, self.room, loads, strict=True):
            part = free[row, start:stop]
            change(part, asked, out=part)
            np.maximum(part, 0, out=room[row, start:stop])
        slack = self.slack[row, start:stop]
        change(slack, loads[0], out=slack)

    def _rest(self, entry: Entry, sign: int) -> None:
        row, width = entry.row, self.ground.width
        for classes, rest in self._rests[row, entry.species]:
            if entry.end is not None and entry.end + rest > 0:
                self.entry[classes, row, max(entry.end, 0) : min(entry.end + rest, width + 1)] += sign
            if entry.batch >= 0 and entry.begin >= 0:
                self.exit[classes, row, max(entry.begin - rest + 1, 0) : entry.begin + 1] += sign

    def _apply(self, entry: Entry, start: int, stop: int) -> None:
        row = entry.row
        housing = self.ground.housings[row]
        if not entry.held:
            self.crowd[row, start:stop] = self.ground.weights.mixing
        if housing.one_batch:
            self.low[:, row, start:stop] = NOBODY
            return
        gap = housing.max_age_gap_days
        if gap is not None:
            low, high = self.low[:, row, start:stop], self.high[:, row, start:stop]
            np.maximum(low, entry.hatch - gap, out=low)
            np.minimum(high, entry.hatch + gap, out=high)
        for first, last, brooding in (
            (start, min(stop, entry.brood_end), True),
            (max(start, entry.brood_end), stop, False),
        ):
            if first < last:
                for one, parted in enumerate(self._parted[entry.species, brooding]):
                    if parted:
                        self.low[one, row, first:last] = NOBODY


def _joined(rests: list[int]) -> list[tuple[slice, int]]:
    """Return (classes, rest days) where there are any, all classes in one when they rest alike."""
    if len(set(rests)) == 1:
        return [(slice(None), rests[0])] if rests[0] else []
    return [(slice(one, one + 1), rest) for one, rest in enumerate(rests) if rest]
