"""Who may be where beside whom: one batch at a time, ages, species, rest days; and the price of sharing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import partial
from itertools import pairwise

from farm.planning.draft import Atlas
from farm.planning.exact import cliques
from farm.planning.exact.model import Model
from farm.planning.exact.tracks import Cell, Event, Track
from farm.planning.problem import Housing


def part(model: Model, atlas: Atlas, tracks: Sequence[Track]) -> None:
    """Add every rule of company and rest, and the price of mixing."""
    for row, housing in enumerate(atlas.ground.housings):
        cells = [cell for track in tracks for cell in track.cells if cell.row == row]
        enters = [event for track in tracks for event in track.enters if event.row == row]
        leaves = [event for track in tracks for event in track.leaves if event.row == row]
        room = _Room(model, atlas, row, housing, cells)
        room.rest_of_the_gone(enters)
        if room.plain:
            room.one_at_a_time()
            leaves = [event for event in leaves if event.kept]
        else:
            room.company()
        room.rest(enters, leaves)


class _Room:
    def __init__(self, model: Model, atlas: Atlas, row: int, housing: Housing, cells: list[Cell]) -> None:
        self.model, self.atlas, self.row, self.housing, self.cells = model, atlas, row, housing, cells
        self.classes = atlas.ground.classes
        #: One batch at a time and nothing there that rules do not bind: then stays drawn out by their rest suffice.
        self.plain = housing.one_batch and housing.indoor and not any(cell.kept for cell in cells)

    def rest_of_the_gone(self, enters: Iterable[Event]) -> None:
        for left in self.atlas.ground.problem.left:
            if left.housing == self.housing.key:
                day = self.atlas.ground.days.index(left.day)
                for event in enters:
                    if not event.kept and day <= event.day < day + self._rest_days(event.track, left.species):
                        self._never(event)

    def one_at_a_time(self) -> None:
        """At any time at most one batch has been inside within the rest days."""
        rest = self.housing.rest_days
        for _, _, here in _segments(self.cells, rest):
            batches = _by_batch(here)
            if len(batches) > 1:
                self.model.row(_sum(term for cells in batches.values() for term in self._any(cells)), high=1)

    def company(self) -> None:
        mixing = self.atlas.ground.weights.mixing
        cuts = {cell.track.lane.brood_end for cell in self.cells}
        for start, stop, here in _segments(self.cells, 0, cuts):
            for clique in cliques.cover(
                here, partial(self._parted, day=start), lambda cell: cell.track.batch
            ):
                columns = [cell.column for cell in clique if cell.column is not None]
                if len(columns) == len(clique):
                    self.model.row(dict.fromkeys(columns, 1), high=1)
                else:
                    self.model.forbid(columns)
            batches = _by_batch(here)
            if mixing and len(batches) > 1:
                self._price_company(batches, mixing * (stop - start))

    def rest(self, enters: Iterable[Event], leaves: Iterable[Event]) -> None:
        """A batch enters only when the rest after every other batch's leaving is over."""
        by_day = sorted(enters, key=lambda event: event.day)
        for left in leaves:
            for entered in by_day:
                if left.track.batch == entered.track.batch or (left.kept and entered.kept):
                    continue
                if not 0 <= entered.day - left.day < self._rest_days(entered.track, left.track.species):
                    continue
                if left.always:
                    self._never(entered)
                elif entered.always:
                    self._never(left)
                else:
                    self.model.row(_sum(left.terms + entered.terms), high=1)

    def _rest_days(self, newcomer: Track, species: str) -> int:
        return self.classes.rest_days(self.housing, self.classes.index(newcomer.species, False), species)

    def _never(self, event: Event) -> None:
        self.model.row(_sum(event.terms), high=0)

    def _parted(self, one: Cell, other: Cell, day: int) -> bool:
        """Return whether at most one of two cells is chosen on a day, by a rule or because they are one part's."""
        if one.track.batch == other.track.batch:
            return one.track.chosen != other.track.chosen or (
                one.track is other.track and one.column is not None and other.column is not None
            )
        if one.kept and other.kept:
            return False
        gap = self.housing.max_age_gap_days
        if self.housing.one_batch or (
            gap is not None and abs(one.track.lane.hatch - other.track.lane.hatch) > gap
        ):
            return True
        warm = [day < cell.track.lane.brood_end for cell in (one, other)]
        return self.classes.parted(
            self.classes.index(one.track.species, warm[0]), other.track.species, warm[1]
        )

    def _price_company(self, batches: dict[int, list[Cell]], price: int) -> None:
        chosen = [cells for cells in batches.values() if all(cell.column is not None for cell in cells)]
        always = len(batches) - len(chosen)
        more = self.model.column(price, high=len(batches) - 1)
        terms = _sum(term for cells in chosen for term in self._any(cells))
        self.model.row({**terms, more: -1}, high=1 - always)

    def _any(self, cells: Sequence[Cell]) -> tuple[tuple[int, int], ...]:
        """Return terms that amount to at least 1 when any of a batch's cells is chosen."""
        groups = _exclusive(cells)
        if len(groups) == 1:
            return tuple((column, 1) for column in groups[0])
        any_of_them = self.model.column()
        for columns in groups:
            self.model.row({any_of_them: 1, **dict.fromkeys(columns, -1)}, 0)
        return ((any_of_them, 1),)


def _exclusive(cells: Sequence[Cell]) -> list[list[int]]:
    """Return the columns of a batch's cells in groups of which one at most is chosen: no part is in two places."""
    groups: list[set[int]] = []
    for place, day in sorted({(cell.track.place, cell.start) for cell in cells}):
        here = {
            cell.column
            for cell in cells
            if cell.column is not None and cell.track.place == place and cell.start <= day < cell.stop
        }
        groups = [each for each in groups if not each <= here]
        if not any(here <= each for each in groups):
            groups.append(here)
    return [sorted(each) for each in groups]


def _segments(
    cells: Sequence[Cell], rest: int, cuts: Iterable[int] = ()
) -> Iterable[tuple[int, int, list[Cell]]]:
    """Yield the longest stretches over which the same cells, each drawn out by `rest`, hold: [start, stop), cells."""
    edges = sorted({edge for cell in cells for edge in (cell.start, cell.stop + rest)} | set(cuts))
    seen = set()
    for start, stop in pairwise(edges):
        here = [cell for cell in cells if cell.start <= start < cell.stop + rest]
        known = tuple(id(cell) for cell in here)
        if here and (not rest or known not in seen):
            seen.add(known)
            yield start, stop, here


def _by_batch(cells: Iterable[Cell]) -> dict[int, list[Cell]]:
    found: dict[int, list[Cell]] = defaultdict(list)
    for cell in cells:
        found[cell.track.batch].append(cell)
    return found


def _sum(terms: Iterable[tuple[int, int]]) -> dict[int, float]:
    found: dict[int, float] = defaultdict(float)
    for column, factor in terms:
        found[column] += factor
    return found
