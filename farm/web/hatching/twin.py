"""The machines in numbers: each machine and week with its egg sets, what goes on, and its fullest day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from farm.models import Machine
from farm.planning.machines import MachineDay
from farm.queries.hatching import MachineRow, Sheet


@dataclass(frozen=True, slots=True)
class Cell:
    """One machine in one week. percent: of it that is full on `fullest`. names: of the egg sets in it.

    hatching: eggs hatch in it on some day. state, of a week without eggs: "empty", "cleaning" or "closed" (out of use
    all week); else "eggs".
    """

    state: str
    percent: int
    fullest: date
    names: tuple[str, ...]
    hatching: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One machine over the weeks."""

    machine: Machine
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
            Line(row.machine, tuple(_cell(row, row.days[start : start + 7]) for start in starts))
            for row in sheet.machines
        ),
    )


def _cell(row: MachineRow, days: Sequence[MachineDay]) -> Cell:
    fullest = max(days, key=lambda day: day.share)
    there = {key for day in days for key in day.loads}
    return Cell(
        state=_state(days),
        percent=round(100 * float(fullest.share)),
        fullest=fullest.day,
        names=tuple(one.egg_set.name for one in row.sets if str(one.egg_set.pk) in there),
        hatching=any(day.state in ("hatching", "mixed") for day in days),
    )


def _state(days: Sequence[MachineDay]) -> str:
    states = {day.state for day in days}
    if states & {"setting", "hatching", "mixed"}:
        return "eggs"
    if states == {"out_of_service"}:
        return "closed"
    return "cleaning" if "cleaning" in states else "empty"
