"""The nights under the board, on the board's own days: the band of lows to expect, and what the batches bear.

Pure: a `Nights` in, SVG numbers out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from farm import units
from farm.models import Batch, Housing
from farm.phrase import Quantity
from farm.queries.nights import Bearing, Floats, Nights

HEIGHT, TOP, BOTTOM = 240.0, 20.0, 10.0
_LEAST_SPAN = 10.0
#: Batches that bear every night of the window this surely have no line: there is nothing to see.
_SURE = 0.99
#: Room a number needs, drawing units across and down.
_WIDE, _TALL = 20.0, 15.0


@dataclass(frozen=True, slots=True)
class Line:
    """What one batch bears in one housing. path: its unbroken stretches; x, y: the middle of its number."""

    number: int
    batch: Batch
    housing: Housing
    path: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Borne:
    """A batch in a housing in one week: the outside °C it asks for, and its coldest night's chance in per cent."""

    batch: Batch
    housing: Housing
    outside_c: float
    percent: int
    safe: bool


@dataclass(frozen=True, slots=True)
class Week:
    """One line of the twin: the lowest and highest of the band over the week, and what is borne."""

    first: date
    cold_c: float
    warm_c: float
    borne: tuple[Borne, ...]


@dataclass(frozen=True, slots=True)
class Panel:
    """Everything the panel's template reads. levels: (y, degrees in the farm's units)."""

    width: float
    height: float
    band: str
    forecast: tuple[tuple[float, float], ...]
    lines: tuple[Line, ...]
    levels: tuple[tuple[float, int], ...]
    weeks: tuple[Week, ...]
    top: float
    floor: float


def draw(found: Nights, day_width: float, system: str) -> Panel:
    """Return the panel. day_width: drawing units a day, as on the board above it."""
    low, high = _span(found)

    def y(temp_c: float) -> float:
        return round(TOP + (HEIGHT - TOP - BOTTOM) * (high - temp_c) / (high - low), 1)

    count = found.window.days
    there = [f"{_middle(i, day_width):g},{y(float(found.warm_c[i])):g}" for i in range(count)]
    back = [f"{_middle(i, day_width):g},{y(float(found.cold_c[i])):g}" for i in reversed(range(count))]
    lines: list[Line] = []
    for one in found.bearings:
        if np.nanmin(one.chance) < _SURE:
            lines.append(_line(one, day_width, y, lines))
    return Panel(
        width=round(count * day_width, 2),
        height=HEIGHT,
        band=" ".join([*there, *back]),
        forecast=tuple(_runs(found, day_width)),
        lines=tuple(lines),
        levels=tuple((y(temp_c), shown) for temp_c, shown in _levels(low, high, system)),
        weeks=tuple(_weeks(found)),
        top=TOP,
        floor=HEIGHT - BOTTOM,
    )


def _middle(column: int, day_width: float) -> float:
    return round((column + 0.5) * day_width, 1)


def _span(found: Nights) -> tuple[float, float]:
    """Return the lowest and highest °C drawn, at least _LEAST_SPAN apart."""
    lines = [one.outside_c[~np.isnan(one.outside_c)] for one in found.bearings]
    every = np.concatenate([found.cold_c, found.warm_c, *lines])
    low, high = float(every.min()) - 1, float(every.max()) + 1
    return low, max(high, low + _LEAST_SPAN)


def _line(one: Bearing, day_width: float, y: Callable[[float], float], before: Sequence[Line]) -> Line:
    known = np.flatnonzero(~np.isnan(one.outside_c)).tolist()
    pieces = []
    for place, column in enumerate(known):
        sign = "L" if place and known[place - 1] == column - 1 else "M"
        level = y(float(one.outside_c[column]))
        left, right = round(column * day_width, 1), round((column + 1) * day_width, 1)
        pieces.append(f"{sign}{left:g} {level:g}L{right:g} {level:g}")
    edge = len(one.outside_c) * day_width
    x = min(max(known[0] * day_width, _WIDE / 2), edge - _WIDE / 2)
    at = y(float(one.outside_c[known[0]]))
    while any(abs(x - other.x) < _WIDE and abs(at - other.y) < _TALL for other in before):
        x += _WIDE  # along its own line, clear of the numbers already there
    return Line(len(before) + 1, one.batch, one.housing, "".join(pieces), round(min(x, edge), 1), at)


def _runs(found: Nights, day_width: float) -> Iterator[tuple[float, float]]:
    """Yield x and width of the nights that are foretold."""
    columns = np.flatnonzero(found.foretold).tolist()
    for place, column in enumerate(columns):
        if place == 0 or columns[place - 1] != column - 1:
            start = column
        if place + 1 == len(columns) or columns[place + 1] != column + 1:
            yield round(start * day_width, 1), round((column + 1 - start) * day_width, 1)


def _levels(low_c: float, high_c: float, system: str) -> Iterator[tuple[float, int]]:
    """Yield round temperatures of the farm's units with their °C."""
    low, high = (units.shown(Quantity(each, "degC"), system)[0] for each in (low_c, high_c))
    step = next(each for each in (5, 10, 20, 50) if (high - low) / each <= 7)
    for shown in range(math.ceil(low / step) * step, math.floor(high) + 1, step):
        yield units.stored(shown, "degC", system), shown


def _weeks(found: Nights) -> Iterator[Week]:
    for start in range(0, found.window.days, 7):
        days = slice(start, start + 7)
        borne = [
            Borne(
                one.batch,
                one.housing,
                float(np.nanmax(one.outside_c[days])),
                math.floor(float(np.nanmin(one.chance[days])) * 100 + 1e-9),
                bool(np.nanmin(one.chance[days]) >= found.confidence),
            )
            for one in found.bearings
            if not _empty(one.outside_c[days])
        ]
        cold, warm = float(found.cold_c[days].min()), float(found.warm_c[days].max())
        yield Week(found.window.day(start), cold, warm, tuple(borne))


def _empty(values: Floats) -> bool:
    return bool(np.isnan(values).all())
