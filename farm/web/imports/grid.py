"""Text as a grid of cells: which separator it uses, where its rows are, what cannot be read."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass

from django.utils.translation import gettext as _

SEPARATORS = (",", ";", "\t")
MOST_COLUMNS = 60
#: A cell that starts with one of these is run as a formula by spreadsheets.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_GUARD = "'"


@dataclass(frozen=True, slots=True)
class Line:
    """One row as typed: the number of its last line in the text, from 1, and its cells without outer blanks."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """A table as typed: its first row that is not blank, and the others. problem: why it could not be read at all."""

    header: Line | None
    lines: tuple[Line, ...]
    problem: str = ""


def grid_of(text: str, most_rows: int) -> Grid:
    """Return the grid of a text. Blank rows are left out; a guard before a formula is taken off."""
    found: list[Line] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator(text), strict=True)
    try:
        for cells in reader:
            typed = tuple(unguarded(cell.strip()) for cell in cells)
            if any(typed):
                found.append(Line(reader.line_num, typed))
            if len(found) > most_rows + 1:
                return Grid(None, (), _("Import %(most)d rows at most at a time.") % {"most": most_rows})
    except csv.Error:
        problem = _("Line %(line)d cannot be read: a quotation mark is missing or too many.")
        return Grid(None, (), problem % {"line": max(reader.line_num, 1)})
    if not found:
        return Grid(
            None, (), _("There is nothing in it yet. Paste the table, its first line naming the columns.")
        )
    if max(len(line.cells) for line in found) > MOST_COLUMNS:
        return Grid(None, (), _("That is too many columns. Is this the right file?"))
    return Grid(found[0], tuple(found[1:]))


def separator(text: str) -> str:
    """Return the separator that parts the first row that is not blank into most cells; a comma when none does."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    plain = "".join(part for index, part in enumerate(first.split('"')) if index % 2 == 0)
    return max(SEPARATORS, key=plain.count)


def guarded(text: str) -> str:
    """Return a cell that no spreadsheet runs as a formula; plain numbers stay numbers."""
    if not text.startswith((*_FORMULA, _GUARD)) or _is_number(text):
        return text
    return _GUARD + text


def unguarded(text: str) -> str:
    """Return a cell as it was before `guarded`."""
    return text[1:] if text.startswith(_GUARD) and text[1:].startswith((*_FORMULA, _GUARD)) else text


def written(rows: list[list[str]]) -> str:
    """Return rows as comma-separated text, formulas guarded; `grid_of` reads it back."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows([guarded(cell) for cell in row] for row in rows)
    return out.getvalue()


def _is_number(text: str) -> bool:
    return re.fullmatch(r"[-+]?\d+(?:[.,]\d+)?", text) is not None
