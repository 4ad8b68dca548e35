"""Every way one part may go, for one arrival day: the stretches between its move points, and what never changes.

A lane is cut at *bounds*, the days on which a move may happen: welcome weekdays, and every day on which a housing
starts or stops to suit (stage windows, heat, seasons, service), gives more or less, or a pin, the past or the adopted
plan begins or ends. The last row of a lane is 'nowhere': it suits on every day but a pinned one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from farm.planning import fixed, suits
from farm.planning.fixed import Fixed
from farm.planning.ground import BLOCKED, Ground
from farm.planning.loads import Bools, Ints
from farm.planning.problem import Batch
from farm.planning.window import Window

#: The row of birds the plan has no place for.
NOWHERE = -1

Index = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Lane:
    """The grid of one part arriving on column `arrival`: R + 1 rows by G stretches.

    brood_end: the first column without need of heat. rows: housings that suit at some time. bounds: G + 1 columns.
    cells: the flat housing × day index of every suitable cell, row by row, and in_class the same in class × housing
    × day arrays; offset: their columns less bounds[0]; starts: where each (row, stretch) begins in them; at: that
    pair's flat place in the R + 1 × G matrix. gates: flat index of each (row, bound) in class × housing × (day + 1)
    arrays. blank: what each pair costs whoever else is there, BLOCKED where it does not suit. exempt: cells under a
    pin, where no rule of company is enforced. free_in, free_out: (row, bound) pairs beside pins, where no rest is.
    chill: (row, stretch) pairs a pin leaves in the cold. prices: of a move at each bound. ripe: for each bound the
    first one from which on a stay begun there may end. gaps: bounds beside pins, where any stay may end, ripe or not.
    since: row and ripe bound of where the birds are now. constant: what this arrival costs by itself. row_of,
    bound_of: local row and bound by housing row and column.
    """

    arrival: int
    leaves: bool
    hatch: int
    brood_end: int
    rows: Index
    bounds: Index
    cells: Index
    in_class: Index
    offset: Index
    starts: Index
    at: Index
    gates: Index
    blank: Ints
    exempt: Bools | None
    free_in: tuple[tuple[int, int], ...]
    free_out: tuple[tuple[int, int], ...]
    chill: tuple[tuple[int, int], ...]
    prices: tuple[int, ...]
    ripe: tuple[int, ...]
    gaps: frozenset[int]
    since: tuple[int, int] | None
    past: tuple[Fixed, ...]
    pins: tuple[Fixed, ...]
    constant: int
    row_of: Mapping[int, int]
    bound_of: Mapping[int, int]

    @property
    def first(self) -> int:
        """Return the first column the plan may decide."""
        return int(self.bounds[0])

    @property
    def end(self) -> int:
        """Return the column after the last."""
        return int(self.bounds[-1])

    def may_end(self, row: int, begun: int, ended: int) -> bool:
        """Return whether a stay in a local row, not come from the same row, may go from one bound to another."""
        if self.ripe[begun] <= ended or ended in self.gaps or row == len(self.rows):
            return True
        return begun == 0 and self.since is not None and self.since[0] == row and self.since[1] <= ended


def make(ground: Ground, batch: Batch, key: str, place: int, arrival: int) -> Lane:
    """Return the lane of a batch's part for an arrival column. place: the part's rank among the batch's parts."""
    facts = fixed.facts(ground, batch, key, place, arrival)
    first, end = facts.first, facts.end
    days = Window(ground.days.day(first), end - first)
    ages = np.arange(first, end) - arrival + batch.age_at_arrival_days
    heat = suits.needs_heat(batch, ages)
    right = _right(ground, batch, ages, days)
    warm = ~heat[None, :] | np.array([housing.heated for housing in ground.housings], dtype=np.bool_)[:, None]
    fits = right & warm
    for pin in facts.pins:
        fits[:, pin.start - first : pin.end - first] = False
        fits[pin.row, pin.start - first : pin.end - first] = True
    rows = np.flatnonzero(fits.any(axis=1))
    fits = fits[rows]
    bounds = _bounds(ground, batch, facts, rows, fits)
    grid = _Grid(ground, facts, rows, fits, bounds)
    gaps = frozenset(grid.stretch[day] for day in facts.gaps)
    brood_end = first + (int(np.flatnonzero(heat)[-1]) + 1 if heat.any() else 0)
    return Lane(
        arrival=arrival,
        leaves=facts.leaves,
        hatch=arrival - batch.age_at_arrival_days,
        brood_end=brood_end,
        rows=rows,
        bounds=bounds,
        blank=grid.blank(right[rows], warm[rows]),
        chill=grid.chill(warm[rows]),
        ripe=_ripe(bounds, batch.min_stay_days, gaps),
        gaps=gaps,
        since=grid.since(batch.min_stay_days),
        prices=tuple(
            ground.weights.moves + (0 if ground.welcome[day] else ground.weights.off_days)
            for day in bounds[:-1].tolist()
        ),
        past=facts.past,
        pins=facts.pins,
        constant=facts.constant,
        row_of=grid.local | {NOWHERE: len(rows)},
        bound_of=grid.stretch,
        **grid.cells(batch, brood_end),
        **grid.exemptions(),
    )


def _right(ground: Ground, batch: Batch, ages: Ints, days: Window) -> Bools:
    """Return housing × day: whether the housing suits, heat aside. Housings alike are looked at once."""
    found = np.zeros((len(ground.housings), days.days), dtype=np.bool_)
    known: dict[object, Bools] = {}
    for row, housing in enumerate(ground.housings):
        alike = (
            housing.kind, housing.indoor, housing.species, housing.in_service_from, housing.in_service_to,
            housing.key in batch.forbidden,
        )  # fmt: skip
        if alike not in known:
            known[alike] = suits.suitable(batch, housing, ages, days)
        found[row] = known[alike]
    return found


def _bounds(ground: Ground, batch: Batch, facts: fixed.Facts, rows: Index, fits: Bools) -> Index:
    first, end = facts.first, facts.end
    cut = ground.welcome[first:end].copy()
    cut[1:] |= (fits[:, 1:] != fits[:, :-1]).any(axis=0)
    given = ground.area[rows, first:end]
    cut[1:] |= (given[:, 1:] != given[:, :-1]).any(axis=0)
    for day in facts.edges.union(*(ground.gates.get(row, ()) for row in rows.tolist())):
        if first < day < end:
            cut[day - first] = True
    cut[0] = True
    return np.append(np.flatnonzero(cut) + first, end)


def _ripe(bounds: Index, least: int, gaps: frozenset[int]) -> tuple[int, ...]:
    """Return for each bound the one at which a stay begun there is ripe; for one begun beside a pin, the next such."""
    days = bounds.tolist()
    last = len(days) - 1
    found = []
    for here, day in enumerate(days[:-1]):
        ripe = next(
            (
                at
                for at in range(here + 1, last + 1)
                if days[at] >= day + least or (here in gaps and at in gaps)
            ),
            None,
        )
        if ripe is None:  # Too late to begin a stay, unless there is no choice.
            ripe = last if here == 0 or here in gaps else last + 1
        found.append(ripe)
    return tuple(found)


class _Grid:
    """Rows by stretches of a lane in the making."""

    def __init__(self, ground: Ground, facts: fixed.Facts, rows: Index, fits: Bools, bounds: Index) -> None:
        self.ground, self.facts, self.rows, self.fits, self.bounds = ground, facts, rows, fits, bounds
        self.local = {int(row): at for at, row in enumerate(rows)}
        self.stretch = {int(day): at for at, day in enumerate(bounds)}
        self.good = fits[:, bounds[:-1] - facts.first]

    def pinned(self) -> list[tuple[int, int, int]]:
        """Return (local row, first, stop) stretches of each pin."""
        return [
            (self.local[pin.row], self.stretch[pin.start], self.stretch[pin.end]) for pin in self.facts.pins
        ]

    def blank(self, right: Bools, warm: Bools) -> Ints:
        weights, first = self.ground.weights, self.facts.first
        table = np.where(
            np.vstack([self.good, np.ones((1, self.good.shape[1]), np.bool_)]), 0, BLOCKED
        ).astype(np.int64)
        starts = self.bounds[:-1] - first
        for row, here, stop in self.pinned():
            table[-1, here:stop] = BLOCKED
            wrong = np.add.reduceat((~right[row]).astype(np.int64), starts)
            table[row, here:stop] += weights.misplaced * wrong[here:stop]
        for stay in self.facts.adopted:
            there = np.zeros(self.bounds[-1] - first, dtype=np.int64)
            there[max(stay.start - first, 0) : max(stay.end - first, 0)] = weights.change
            elsewhere = np.arange(len(table)) != self.local.get(stay.row, -1)
            table[elsewhere] += np.add.reduceat(there, starts)
        return table

    def chill(self, warm: Bools) -> tuple[tuple[int, int], ...]:
        first = self.facts.first
        return tuple(
            (row, at)
            for row, here, stop in self.pinned()
            for at in range(here, stop)
            if not warm[row, self.bounds[at] - first : self.bounds[at + 1] - first].all()
        )

    def since(self, least: int) -> tuple[int, int] | None:
        been = self.facts.been
        if been is None:
            return None
        ripe = next(
            (at for at, day in enumerate(self.bounds.tolist()) if day - been.start >= least), len(self.bounds)
        )
        return self.local.get(been.row, -1), ripe

    def cells(self, batch: Batch, brood_end: int) -> dict[str, Any]:
        ground, width, first = self.ground, self.ground.width, self.facts.first
        row, offset = np.nonzero(self.fits)
        cells = self.rows[row] * width + offset + first
        young, grown = (ground.classes.index(batch.species, brooding) for brooding in (True, False))
        size = ground.shape[0] * width
        lengths = (self.good * np.diff(self.bounds)).reshape(-1)
        at = np.flatnonzero(lengths)
        gates = (
            grown * ground.shape[0] * (width + 1) + self.rows[:, None] * (width + 1) + self.bounds[None, :]
        )
        return {
            "cells": cells,
            "in_class": cells + np.where(offset + first < brood_end, young, grown) * size,
            "offset": offset,
            "starts": np.concatenate(([0], np.cumsum(lengths[at])[:-1])).astype(np.intp),
            "at": at,
            "gates": gates,
        }

    def exemptions(self) -> dict[str, Any]:
        pinned = self.pinned()
        free_in = [(row, here) for row, here, _ in pinned]
        free_out = [(row, stop) for row, _, stop in pinned]
        been = self.facts.been
        if been is not None and been.row in self.local:
            free_in.append((self.local[been.row], 0))
            free_out.append((self.local[been.row], 0))
        exempt = None
        if pinned:
            under = np.zeros(self.fits.shape, dtype=np.bool_)
            for pin in self.facts.pins:
                under[self.local[pin.row], pin.start - self.facts.first : pin.end - self.facts.first] = True
            exempt = under[self.fits]
        return {"exempt": exempt, "free_in": tuple(free_in), "free_out": tuple(free_out)}
