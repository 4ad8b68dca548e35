"""The board in numbers: each housing and week with its birds and its fullest day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from farm.models import Housing
from farm.queries.occupancy import Sheet


@dataclass(frozen=True, slots=True)
class Cell:
    """One housing in one week. birds: most on one day. On the fullest day it asks `asked_m2` of `given_m2`.

    state: "birds", "empty", "resting" or "closed" (out of use all week).
    """

    birds: int
    asked_m2: float
    given_m2: float
    fullest: date
    over: bool
    state: str


@dataclass(frozen=True, slots=True)
class Line:
    """One housing over the weeks."""

    housing: Housing
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """`weeks` are the first days of the columns."""

    weeks: tuple[date, ...]
    lines: tuple[Line, ...]


def table(sheet: Sheet) -> Table:
    """Return the sheet by weeks counted from its first day."""
    starts = range(0, sheet.window.days, 7)
    return Table(
        weeks=tuple(sheet.window.day(start) for start in starts),
        lines=tuple(
            Line(housing, tuple(_cell(sheet, sheet.occupancy.row[key], start) for start in starts))
            for key, housing in sheet.housings.items()
        ),
    )


def _cell(sheet: Sheet, row: int, start: int) -> Cell:
    load, days = sheet.occupancy, slice(start, start + 7)
    asked, given = load.area_asked_m2[row, days], load.area_m2[row, days]
    # The fullest day is the one with the least floor left, which differs from the most asked when service ends.
    fullest = int(np.argmax(asked - given)) if load.birds[row, days].any() else 0
    return Cell(
        birds=int(load.birds[row, days].max()),
        asked_m2=float(asked[fullest]),
        given_m2=float(given[fullest]),
        fullest=sheet.window.day(start + fullest),
        over=bool(asked[fullest] > given[fullest] + 1e-6),
        state=_state(sheet, row, days),
    )


def _state(sheet: Sheet, row: int, days: slice) -> str:
    load = sheet.occupancy
    if load.birds[row, days].any():
        return "birds"
    if not load.area_m2[row, days].any():
        return "closed"
    return "resting" if load.resting[row, days].any() else "empty"
