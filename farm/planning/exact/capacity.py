"""Floor and edges day by day: what is missing, and floor nearly full, priced as `score` prices them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from farm.planning.draft import Atlas
from farm.planning.exact.model import Model
from farm.planning.exact.tracks import Cell, Track
from farm.planning.ground import PLENTY


@dataclass(frozen=True)
class Demand:
    """What may be asked of one housing on days alike. terms: by column; fixed: in every plan; most: at once."""

    given: int
    fixed: int
    terms: Mapping[int, int]
    most: int


def limit(model: Model, atlas: Atlas, tracks: Sequence[Track]) -> None:
    """Add the price of every shortage: one row for days alike, none where nothing can run short."""
    rows: dict[int, list[Cell]] = defaultdict(list)
    for track in tracks:
        for cell in track.cells:
            rows[cell.row].append(cell)
    for row in sorted(rows):
        for place, resource in enumerate(atlas.ground.resources):
            for demand, days in _days_alike(atlas, rows[row], row, place):
                short = _shortage(model, demand, resource.weight * days)
                if place == 0 and atlas.ground.weights.spare:
                    _nearly_full(model, demand, atlas.ground.weights.spare * days, short)


def _days_alike(atlas: Atlas, cells: list[Cell], row: int, place: int) -> Iterator[tuple[Demand, int]]:
    ground = atlas.ground
    given = ground.resources[place].given[row]
    by_day: dict[int, list[Cell]] = defaultdict(list)
    for cell in cells:
        for day in range(cell.start, cell.stop):
            by_day[day].append(cell)
    counted: dict[tuple[object, ...], tuple[Demand, int]] = {}
    for day, here in sorted(by_day.items()):
        if given[day] >= PLENTY:
            continue
        asked = [(cell, _load(atlas, cell, place, day)) for cell in here]
        terms = {cell.column: load for cell, load in asked if cell.column is not None and load}
        fixed = sum(load for cell, load in asked if cell.column is None)
        key = (int(given[day]), fixed, tuple(sorted(terms.items())))
        demand = (
            counted[key][0] if key in counted else Demand(int(given[day]), fixed, terms, fixed + _most(asked))
        )
        counted[key] = (demand, counted.get(key, (demand, 0))[1] + 1)
    yield from counted.values()


def _load(atlas: Atlas, cell: Cell, place: int, day: int) -> int:
    track = cell.track
    if day >= track.lane.first:
        return track.load(place, day)
    batch = atlas.ground.batches[track.batch]
    return int(atlas.ground.loads(batch, track.birds, track.lane.arrival, day, day + 1)[place][0])


def _most(asked: Sequence[tuple[Cell, int]]) -> int:
    """Return the most that can be asked for at once: of each part the largest of its choices."""
    found: dict[tuple[int, int], int] = {}
    for cell, load in asked:
        if cell.column is not None:
            part = (cell.track.batch, cell.track.place)
            found[part] = max(found.get(part, 0), load)
    return sum(found.values())


def _shortage(model: Model, demand: Demand, price: int) -> int | None:
    """Add what is missing and return its column, None where nothing can be."""
    if demand.most <= demand.given:
        return None
    short = model.column(price, high=demand.most - demand.given)
    model.row({**demand.terms, short: -1}, high=demand.given - demand.fixed)
    return short


def _nearly_full(model: Model, demand: Demand, price: int, short: int | None) -> None:
    mark = demand.given * 90 // 100
    if demand.most <= mark:
        return
    full = model.column(price, whole=True)
    above = demand.most - mark
    terms: dict[int, float] = {**demand.terms, full: -above}
    # A shortage is dearer than a day nearly full: with it in the row, the row may be much tighter.
    if short is not None and demand.given > mark and model.costs[short] > price:
        terms |= {short: -1, full: -(demand.given - mark)}
    model.row(terms, high=mark - demand.fixed)
