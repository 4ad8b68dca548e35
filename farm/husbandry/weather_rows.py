"""A weather table as text: its rows below the headings, the day and the two temperatures picked out of each."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from farm.husbandry import weather_cells as cells
from farm.husbandry.weather_cells import CellError, Columns, Unit
from farm.phrase import N_, Phrase

#: More rows than this are refused: 136 years of days.
MOST_ROWS = 50_000
#: Services write a few lines about the place above the headings.
_HEAD_ROWS = 20
#: The comma last: it may also stand before decimals.
_SEPARATORS = ("\t", ";", ",")

Field = Literal["", "day", "low", "high"]
Typed = tuple[float, Unit | None] | None


@dataclass(frozen=True, slots=True)
class RowProblem:
    """Why a row was left out. row: its line in the text, from 1; 0 for the whole text. field: "" for the whole row."""

    row: int
    field: Field
    text: Phrase


@dataclass(frozen=True, slots=True)
class Row:
    """A row with its three cells; the numbers as typed, or why they are none."""

    number: int
    day: str
    low: Typed | CellError
    high: Typed | CellError


class Unreadable(Exception):
    """A text that is no weather table; `problem` says why."""

    def __init__(self, text: Phrase, row: int = 0) -> None:
        self.problem = RowProblem(row, "", text)
        super().__init__(str(text))


def rows_of(text: str) -> tuple[Columns, list[Row], list[RowProblem]]:
    """Return the columns, the rows below the headings, and the rows whose cells are too few or too many.

    Raises Unreadable.
    """
    lines = _lines(text)
    head = next((i for i, (_, line) in enumerate(lines[:_HEAD_ROWS]) if cells.headings(line)), None)
    columns = None if head is None else cells.headings(lines[head][1])
    start = 0 if head is None else head + 1
    if columns is None:
        columns = _without_headings(lines[0][1])
    width = len(lines[start - 1 if start else 0][1])
    rows, problems = [], []
    for number, line in lines[start:]:
        if len(line) > width and any(line[width:]):
            said = N_(
                "This row has more cells than there are columns. Is a comma used for decimals and between cells?"
            )
            problems.append(RowProblem(number, "", Phrase(said)))
        elif len(line) <= max(columns.day, columns.low, columns.high):
            problems.append(RowProblem(number, "", Phrase(N_("This row has too few cells."))))
        else:
            low, high = _typed(line[columns.low]), _typed(line[columns.high])
            rows.append(Row(number, line[columns.day], low, high))
    return columns, rows, problems


def _lines(text: str) -> list[tuple[int, list[str]]]:
    """Return the rows that are not blank, each with the number of its line."""
    head = [line for line in text[:10_000].splitlines()[:_HEAD_ROWS] if line.strip()]
    if not head:
        raise Unreadable(Phrase(N_("There is nothing in it yet.")))
    separator = max(_SEPARATORS, key=lambda mark: sum(mark in line for line in head))
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=separator)
    found = []
    try:
        for line in reader:
            if any(cell.strip() for cell in line):
                found.append((reader.line_num, [cell.strip() for cell in line]))
            if len(found) > MOST_ROWS:
                break
    except csv.Error:
        raise Unreadable(Phrase(N_("This line cannot be read.")), reader.line_num) from None
    if len(found) > MOST_ROWS:
        raise Unreadable(
            Phrase(N_("A record may have %(most)d rows at most: part the file."), {"most": MOST_ROWS})
        )
    return found


def _without_headings(line: Sequence[str]) -> Columns:
    """Return day, low, high in this order where the first row is such a row already."""
    try:
        cells.day(line[0], first=True)
    except CellError:
        try:
            cells.day(line[0], first=False)
        except CellError:
            raise Unreadable(_NO_COLUMNS) from None
    if len(line) < 3:
        raise Unreadable(_NO_COLUMNS)
    return Columns(0, 1, 2)


_NO_COLUMNS = Phrase(
    N_(
        "Name three columns in the first row: the day, the lowest and the highest temperature (date, min, max)."
    )
)


def _typed(text: str) -> Typed | CellError:
    try:
        return cells.number(text)
    except CellError as why:
        return why
