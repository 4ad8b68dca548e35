"""The nights under the board, on the board's own days: the band of lows to expect, and what the batches bear.

Pure: a `Nights` in, SVG numbers out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from farm import units
from farm.models import Batch, Housing
from farm.phrase import Quantity
from farm.queries.nights import Bearing, Floats, Nights

HEIGHT, TOP, BOTTOM = 190.0, 16.0, 10.0
_LEAST_SPAN = 10.0
#: A line whose name would be cut off at the right edge carries it before its end.
_NAME_WIDTH = 120.0


@dataclass(frozen=True, slots=True)
class Line:
    """What one batch bears in one housing. paths: its unbroken stretches; x, y: where its name stands."""

    batch: Batch
    housing: Housing
    path: str
    x: float
    y: float
    anchor: str


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
    lines = [_line(one, day_width, y) for one in found.bearings]
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


def _line(one: Bearing, day_width: float, y: Callable[[float], float]) -> Line:
    known = np.flatnonzero(~np.isnan(one.outside_c))
    pieces, before = [], -2
    for column in known.tolist():
        sign = "L" if column == before + 1 else "M"
        level = y(float(one.outside_c[column]))
        left, right = round(column * day_width, 1), round((column + 1) * day_width, 1)
        pieces.append(f"{sign}{left:g} {level:g}L{right:g} {level:g}")
        before = column
    first = int(known[0])
    x = round(first * day_width, 1)
    ends = x + _NAME_WIDTH > len(one.outside_c) * day_width
    return Line(
        one.batch,
        one.housing,
        "".join(pieces),
        round((first + 1) * day_width, 1) if ends else x,
        y(float(one.outside_c[first])),
        "end" if ends else "start",
    )


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
