"""The columns a table may have: what they are called, whether they must be there, and how their cells are read."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from farm import units
from farm.web.imports import cells
from farm.web.imports.cells import UNIT_NAMES, Reader, unit_name


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    name: the field it fills, and its plain header. aliases: other headers, compared without case, blanks or marks.
    unit: SI unit of a quantity, "" for none; a header may name another unit. read: makes the reader of its cells for a
    system of units. labels: what its values are called, where they are keys.
    """

    name: str
    label: str
    read: Callable[[str], Reader]
    aliases: tuple[str, ...] = ()
    required: bool = False
    unit: str = ""
    labels: Mapping[str, str] = field(default_factory=dict)

    def headers(self) -> set[str]:
        """Return the headers it answers to, as `plain` spells them."""
        return {plain(word) for word in (self.name, self.label, *self.aliases)}

    def header(self, system: str) -> str:
        """Return the header an example carries: its label, with the farm's unit where it has one."""
        label = str(self.label)
        return f"{label} ({units.label(self.unit, system)})" if self.unit else label


@dataclass(frozen=True, slots=True)
class Placed:
    """A column found in a table: at which place, read in which system of units."""

    column: Column
    place: int
    system: str


def plain(text: object) -> str:
    """Return a header without what typing varies: case, blanks and marks."""
    return re.sub(r"[\W_]", "", str(text).casefold())


def place(header: Sequence[str], columns: Sequence[Column], system: str) -> tuple[list[Placed], list[str]]:
    """Return the columns that a header names, and what is wrong with it in a keeper's words."""
    known = {word: column for column in columns for word in column.headers()}
    found: dict[str, Placed] = {}
    problems: list[str] = []
    for index, text in enumerate(header):
        if not text:
            continue
        column, used = _find(text, known, system)
        if column is None:
            problems.append(_("Nothing here is called “%(name)s”.") % {"name": text})
        elif column.name in found:
            problems.append(_("Two columns are “%(name)s”. Keep one.") % {"name": column.label})
        else:
            found[column.name] = Placed(column, index, used)
    if not found:
        return [], [
            _("The first line must name the columns, for example: %(names)s.") % {"names": _names(columns)}
        ]
    missing = [column for column in columns if column.required and column.name not in found]
    problems += [_("The column “%(name)s” is missing.") % {"name": column.label} for column in missing]
    if problems:
        problems.append(_("Columns known here: %(names)s.") % {"names": _names(columns)})
    return list(found.values()), problems


def _find(text: str, known: dict[str, Column], system: str) -> tuple[Column | None, str]:
    """Return the column of a header and the system its numbers are in; a unit in the header goes first."""
    cut = re.match(r"^(.*?)[\s_(\[]+([^\s_(\[]+(?:\s?(?:ft|feet|metres|meters)\.?)?)[)\]]?$", text)
    if cut is not None:
        column, unit = known.get(plain(cut.group(1))), UNIT_NAMES.get(unit_name(cut.group(2)))
        if column is not None and unit is not None and unit[1] == column.unit:
            return column, unit[0]
    return known.get(plain(text)), system


def _names(columns: Sequence[Column]) -> str:
    return ", ".join(str(column.label) for column in columns)


def text(name: str, label: str, most: int, *aliases: str, required: bool = False) -> Column:
    """Return a column of words."""
    reader = cells.words(most)
    return Column(name, label, lambda _system: reader, aliases, required)


def whole(name: str, label: str, low: int, high: int, *aliases: str, required: bool = False) -> Column:
    """Return a column of whole numbers."""
    reader = cells.whole(low, high)
    return Column(name, label, lambda _system: reader, aliases, required)


def quantity(
    name: str, label: str, unit: str, low: float, high: float, *aliases: str, required: bool = False
) -> Column:
    """Return a column of quantities; unit and bounds are SI."""
    return Column(
        name, label, lambda system: cells.quantity(unit, system, low, high), aliases, required, unit
    )


def day(name: str, label: str, *aliases: str, required: bool = False) -> Column:
    """Return a column of days."""
    return Column(name, label, cells.day, aliases, required)


def yes_no(name: str, label: str, *aliases: str) -> Column:
    """Return a column of yes and no."""
    return Column(name, label, lambda _system: cells.yes_no, aliases)


def choice(
    name: str,
    label: str,
    labels: Mapping[str, str],
    *aliases: str,
    more: Mapping[str, str] | None = None,
    several: bool = False,
    required: bool = False,
) -> Column:
    """Return a column of known words: the labels, their keys, and `more` words by their key."""
    known: dict[str, object] = {label.casefold(): value for value, label in labels.items()}
    known |= {value.replace("_", " "): value for value in labels} | dict(more or {})
    make = cells.several_of if several else cells.one_of
    reader = make(known, ", ".join(labels.values()))
    return Column(name, label, lambda _system: reader, aliases, required, labels=dict(labels))
