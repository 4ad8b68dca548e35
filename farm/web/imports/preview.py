"""A table read against its columns: every row as it will be saved, every complaint at its cell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.phrase import Quantity
from farm.web.imports.cells import CellError
from farm.web.imports.columns import Column, Placed, place
from farm.web.imports.grid import Line, grid_of
from farm.web.imports.kinds import Kind
from farm.wording import quantity


@dataclass(slots=True)
class Cell:
    """One cell: what was typed, how it will be saved, and what is wrong with it. assumed: it was left open."""

    typed: str
    shown: str = ""
    problems: list[str] = field(default_factory=list)
    assumed: bool = False


@dataclass(slots=True)
class PreviewRow:
    """One row: its line in the text, its cells by column, its values, and what is wrong with it as a whole."""

    line: int
    cells: dict[str, Cell]
    values: dict[str, Any]
    problems: list[str] = field(default_factory=list)

    @property
    def right(self) -> bool:
        """Say whether nothing is wrong with the row."""
        return not self.problems and not any(cell.problems for cell in self.cells.values())


@dataclass(slots=True)
class Preview:
    """The whole table. problems: what is wrong with it before any row is looked at."""

    columns: list[Column]
    rows: list[PreviewRow]
    problems: list[str]

    @property
    def right(self) -> bool:
        """Say whether every row could be saved as far as reading tells."""
        return not self.problems and bool(self.rows) and all(row.right for row in self.rows)

    @property
    def wrong_rows(self) -> list[PreviewRow]:
        """Return the rows with something wrong."""
        return [row for row in self.rows if not row.right]

    def shown_rows(self) -> list[tuple[int, bool, list[str], list[Cell | None]]]:
        """Return every row as (line, right, its problems, its cells in the order of the columns)."""
        names = [column.name for column in self.columns]
        return [
            (row.line, row.right, row.problems, [row.cells.get(name) for name in names]) for row in self.rows
        ]

    def refused(
        self, fields: Mapping[str, Sequence[object]], places: Mapping[str, str], sent: Sequence[PreviewRow]
    ) -> None:
        """Put what a service refused ("3.area_m2") at its cell; at the row where no such column was given.

        sent: the rows the service was given, in that order.
        """
        for path, texts in fields.items():
            index, _dot, name = path.partition(".")
            said = [str(text) for text in texts]
            if not index.isdigit() or int(index) >= len(sent):
                self.problems += said
                continue
            row = sent[int(index)]
            cell = row.cells.get(places.get(name, name))
            (row.problems if cell is None else cell.problems).extend(said)


def preview(kind: Kind, text: str, system: str) -> Preview:
    """Read `text` as a table of `kind`; numbers without a unit are in `system`."""
    grid = grid_of(text, kind.most_rows)
    if grid.header is None:
        return Preview([], [], [grid.problem])
    placed, problems = place(grid.header.cells, kind.columns, system)
    if problems:
        return Preview([], [], problems)
    rows = [_row(line, placed, system) for line in grid.lines]
    if not rows:
        problems = [_("There are no rows under the first line.")]
    for row in rows:
        _assume(row, kind, system)
    named = {name for row in rows for name in row.cells}
    return Preview([column for column in kind.columns if column.name in named], rows, problems)


def _assume(row: PreviewRow, kind: Kind, system: str) -> None:
    """Fill in what was left open, without touching a cell that cannot be read."""
    columns = {column.name: column for column in kind.columns}
    for name, value in kind.assumed(row.values).items():
        cell = row.cells.setdefault(name, Cell(""))
        if name not in row.values and not cell.problems:
            row.values[name] = value
            cell.assumed, cell.shown = True, shown(value, columns[name], system)


def _row(line: Line, placed: Sequence[Placed], system: str) -> PreviewRow:
    row = PreviewRow(line.number, {}, {})
    named = {one.place for one in placed}
    extra = [text for index, text in enumerate(line.cells) if text and index not in named]
    if extra:
        row.problems.append(
            ngettext(
                "There is %(count)d cell more than columns: is a separator or a quotation mark out of place?",
                "There are %(count)d cells more than columns: is a separator or a quotation mark out of place?",
                len(extra),
            )
            % {"count": len(extra)}
        )
    for one in placed:
        typed = line.cells[one.place] if one.place < len(line.cells) else ""
        row.cells[one.column.name] = _cell(one, typed, row.values, system)
    return row


def _cell(one: Placed, typed: str, values: dict[str, Any], system: str) -> Cell:
    cell = Cell(typed)
    if not typed:
        if one.column.required:
            cell.problems.append(_("This is needed."))
        return cell
    try:
        value = one.column.read(one.system)(typed)
    except CellError as refused:
        cell.problems.append(str(refused))
        return cell
    values[one.column.name] = value
    cell.shown = shown(value, one.column, system)
    return cell


def shown(value: object, column: Column, system: str) -> str:
    """Return a value as it will be saved, in the farm's words and units."""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, date):
        return date_format(value, "DATE_FORMAT")
    if isinstance(value, list):
        return ", ".join(column.labels.get(one, one) for one in value)
    if isinstance(value, str):
        return column.labels.get(value, value)
    if column.unit and isinstance(value, float):
        return quantity(Quantity(value, column.unit, 2), system)
    return number_format(str(value)) if isinstance(value, float) else str(value)
