"""The ways of every part as columns: where it is on each stretch of each of its lanes, and when it comes and goes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from farm.planning.draft import Atlas, Sizes
from farm.planning.exact.model import Model
from farm.planning.ground import BLOCKED
from farm.planning.insert import NOWHERE
from farm.planning.lanes import Lane
from farm.planning.loads import Ints


class Cell(NamedTuple):
    """A part in a housing over columns [start, stop), chosen by `column`; column None: it is there in every plan.

    kept: under a pin or in the past, where no rule of company is enforced.
    """

    track: Track
    row: int
    start: int
    stop: int
    column: int | None
    kept: bool


class Event(NamedTuple):
    """A part enters or leaves a housing on a day when `terms` amount to 1 (`always`: whatever is chosen).

    kept: a pin or the past makes it so.
    """

    track: Track
    row: int
    day: int
    terms: tuple[tuple[int, int], ...]
    always: bool
    kept: bool


@dataclass(eq=False)
class Track:
    """One part of a batch for one arrival. chosen: the arrival's column; at: those of (row, stretch) on its way."""

    batch: int
    place: int
    birds: int
    species: str
    lane: Lane
    loads: list[Ints]
    chosen: int
    at: dict[tuple[int, int], int] = field(default_factory=dict)
    cells: list[Cell] = field(default_factory=list)
    enters: list[Event] = field(default_factory=list)
    leaves: list[Event] = field(default_factory=list)

    def load(self, resource: int, day: int) -> int:
        """Return what the part asks for of a resource on a column of its lane."""
        return int(self.loads[resource][day - self.lane.first])


def tracks(model: Model, atlas: Atlas, sizes: list[Sizes]) -> list[Track]:
    """Add the columns and rows of every part of every batch in parts of these sizes, and return them."""
    found = []
    for batch, parts in enumerate(sizes):
        chosen = {arrival: model.column(whole=True) for arrival in atlas.arrivals[batch]}
        model.row(dict.fromkeys(chosen.values(), 1), 1, 1)
        model.constant += atlas.split_price(batch, parts)
        for arrival, column in chosen.items():
            for place, birds in enumerate(parts):
                lane = atlas.lane(batch, place, arrival)
                asked, cold = atlas.loads(batch, birds, lane)
                species = atlas.ground.batches[batch].species
                track = Track(batch, place, birds, species, lane, asked, column)
                model.costs[column] += lane.constant
                _Way(model, atlas, track, cold).add()
                found.append(track)
    return found


class _Way:
    """The columns and rows of one track."""

    def __init__(self, model: Model, atlas: Atlas, track: Track, cold: Ints) -> None:
        self.model, self.weights, self.track, self.lane = model, atlas.ground.weights, track, track.lane
        self.bounds: list[int] = self.lane.bounds.tolist()
        self.last = len(self.bounds) - 1
        self.rows: list[int] = [*self.lane.rows.tolist(), NOWHERE]
        self.costs = self._costs(cold)

    def add(self) -> None:
        at = self.track.at
        for stretch in range(self.last):
            for local in range(len(self.rows)):
                cost = int(self.costs[local, stretch])
                if cost < BLOCKED:
                    at[local, stretch] = self.model.column(cost, whole=True)
            here = {at[local, stretch]: 1.0 for local in range(len(self.rows)) if (local, stretch) in at}
            self.model.row({**here, self.track.chosen: -1.0}, 0, 0)
        for local, row in enumerate(self.rows):
            for stretch in range(self.last + 1):
                self._enter(local, row, stretch)
                if row != NOWHERE:
                    self._leave(local, row, stretch)
        self.track.cells += self._cells()
        self._past()

    def _costs(self, cold: Ints) -> Ints:
        starts = self.lane.bounds[:-1] - self.lane.first
        costs = self.lane.blank.copy()
        if self.last:
            costs[-1] += np.add.reduceat(self.track.loads[0], starts) * self.weights.nowhere
            chilled = np.add.reduceat(cold, starts) * self.weights.cold
            for local, stretch in self.lane.chill:
                costs[local, stretch] += chilled[stretch]
        return costs

    def _enter(self, local: int, row: int, stretch: int) -> None:
        """Price and note entering: the cell itself where nothing comes before it, else a column for the step up."""
        now = self.track.at.get((local, stretch))
        if now is None:
            return
        since, event = self.lane.since, now
        if stretch == 0:
            if since is not None and since[0] == local:
                self._stay(now, local, 0, min(self.lane.ripe[0], since[1]), row)
                return
            self.model.costs[now] += 0 if since is None else self.lane.prices[0]
        else:
            before = self.track.at.get((local, stretch - 1))
            if before is None:
                self.model.costs[now] += self.lane.prices[stretch]
            else:
                event = self.model.column(self.lane.prices[stretch])
                self.model.row({event: 1, now: -1, before: 1}, 0)
        self._stay(event, local, stretch, self.lane.ripe[stretch], row)
        if row != NOWHERE:
            kept = (local, stretch) in self.lane.free_in
            self.track.enters.append(Event(self.track, row, self.bounds[stretch], ((event, 1),), False, kept))

    def _stay(self, event: int, local: int, stretch: int, ripe: int, row: int) -> None:
        """Hold a stay begun by `event` until it is ripe or ends beside a pin; nowhere may be left at any bound."""
        if row == NOWHERE:
            return
        through = list[int]()  # columns of the stretches after gaps: all chosen while the stay goes on
        for later in range(stretch + 1, min(ripe, self.last + 1)):
            column = self.track.at.get((local, later))
            if later in self.lane.gaps:
                if column is None:
                    return
                through.append(column)
            elif column is not None:
                self.model.row({event: 1, column: -1, **dict.fromkeys(through, 1)}, high=len(through))
            elif through:
                self.model.row({event: 1, **dict.fromkeys(through, 1)}, high=len(through))
            else:
                self.model.forbid([event])

    def _leave(self, local: int, row: int, stretch: int) -> None:
        before = self.track.at.get((local, stretch - 1))
        if before is None or (stretch == self.last and not self.lane.leaves):
            return
        after = self.track.at.get((local, stretch))
        event = before
        if after is not None:
            event = self.model.column()
            self.model.row({event: 1, before: -1, after: 1}, 0)
        kept = (local, stretch) in self.lane.free_out
        self.track.leaves.append(Event(self.track, row, self.bounds[stretch], ((event, 1),), False, kept))

    def _cells(self) -> Iterator[Cell]:
        for (local, stretch), column in self.track.at.items():
            start, stop = self.bounds[stretch], self.bounds[stretch + 1]
            if self.rows[local] != NOWHERE:
                kept = any(
                    pin.row == self.rows[local] and pin.start <= start < pin.end for pin in self.lane.pins
                )
                yield Cell(self.track, self.rows[local], start, stop, column, kept)

    def _past(self) -> None:
        """Note the stays of the past: still there on some days of the plan, or their rest not over."""
        past = self.lane.past
        for place, stay in enumerate(past):
            if max(stay.start, 0) < min(stay.end, self.lane.first):
                self.track.cells.append(Cell(self.track, stay.row, max(stay.start, 0), stay.end, None, True))
            before, after = (
                past[place - 1] if place else None,
                past[place + 1] if place + 1 < len(past) else None,
            )
            if stay.start > 0 and (before is None or (before.row, before.end) != (stay.row, stay.start)):
                self.track.enters.append(Event(self.track, stay.row, stay.start, (), True, True))
            if after is not None and (after.row, after.start) != (stay.row, stay.end):
                self.track.leaves.append(Event(self.track, stay.row, stay.end, (), True, True))
            if after is None:
                local = self.rows.index(stay.row) if stay.row in self.rows else -1
                still = self.track.at.get((local, 0)) if stay.end == self.lane.first else None
                terms = () if still is None else ((self.track.chosen, 1), (still, -1))
                self.track.leaves.append(Event(self.track, stay.row, stay.end, terms, still is None, True))
