"""The tables of a programme as a form: rows typed, added, dropped; every complaint at its row; nothing typed is lost.

Inputs are named table.row.field. A row that stood in the version the form was opened at is numbered by its place there,
so that a figure left alone keeps its source and its exact value; a new row is n0, n1, …
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from farm.trade.programme import CURVES, OWN, RULES, Programme
from farm.trade.sources import is_known
from farm.web.programmes.labels import CURVE_MEASURES, PROTEIN, RULE_MEASURES, Measure

FEEDS, SINGLE = "feeds", "rules"
#: Rows in one table and in all: the whole form stays under the 1000 fields that a request may have.
MOST_ROWS, MOST_IN_ALL = 40, 280
_INPUT = re.compile(r"^(?P<table>\w+)\.(?P<row>\w+)\.(?P<field>day|value|source|feed)$")
_PATH = re.compile(r"^(?:curves\.)?(?P<table>\w+)(?:\[(?P<index>\d+)\])?(?:\.(?P<rest>\w+))?")


@dataclass(slots=True)
class TypedRow:
    """One row as it stands in the form. key: its place in the version before, or n0, n1, … for a new one."""

    key: str
    day: str = ""
    value: str = ""
    source: str = ""
    feed: str = ""
    label: str = ""
    unit: str = ""
    problems: list[str] = field(default_factory=list)


@dataclass(slots=True)
class TypedTable:
    """One table of the form.

    timed: its rows have a day of age; fed: and the name of a feed. touched: something
    was typed."""

    name: str
    label: str
    unit: str
    rows: list[TypedRow]
    problems: list[str] = field(default_factory=list)
    touched: bool = False

    @property
    def open(self) -> bool:
        """Say whether a page that folds the tables shows it."""
        return self.touched or self.wrong

    @property
    def timed(self) -> bool:
        """Say whether its rows have a day of age."""
        return self.name != SINGLE

    @property
    def fed(self) -> bool:
        """Say whether its rows name a feed."""
        return self.name == FEEDS

    @property
    def wrong(self) -> bool:
        """Say whether anything in it cannot be right."""
        return bool(self.problems) or any(row.problems for row in self.rows)


class Sheet:
    """All tables of a programme, as stored in `base` or as typed in `data`, in the farm's units."""

    def __init__(self, base: Programme, system: str, data: Mapping[str, str] | None = None) -> None:
        self.base, self.system = base, system
        self._stored = {table.name: table for table in _tables(base, system)}
        self.tables = list(_tables(base, system)) if data is None else self._typed(data)
        self._order: dict[str, list[TypedRow]] = {}

    @property
    def wrong(self) -> bool:
        """Say whether anything in it cannot be right."""
        return any(table.wrong for table in self.tables)

    def add(self, name: str) -> None:
        """Add a blank row to a table."""
        table = self._table(name)
        if table is None or not table.timed:
            return
        if len(table.rows) >= MOST_ROWS or sum(len(one.rows) for one in self.tables) >= MOST_IN_ALL:
            table.problems.append(_("There are too many rows. Drop one first."))
            return
        taken = {row.key for row in table.rows}
        key = next(f"n{number}" for number in range(MOST_ROWS + 1) if f"n{number}" not in taken)
        table.rows.append(TypedRow(key, source=OWN))
        table.touched = True

    def drop(self, path: str) -> None:
        """Drop the row "table.row"."""
        name, _dot, key = path.partition(".")
        table = self._table(name)
        if table is not None and table.timed:
            table.rows = [row for row in table.rows if row.key != key]

    def content(self) -> dict[str, Any]:
        """Return the programme as plain data for `services.programmes.edit`; look at `wrong` first to trust it."""
        found: dict[str, Any] = {"jobs": list(self.base.jobs), "curves": {}, "rules": {}, "feeds": []}
        for table in self.tables:
            if table.name == SINGLE:
                found["rules"] = {
                    row.key: self._number(table, row, RULE_MEASURES[row.key]) for row in table.rows
                }
                continue
            rows = [self._timed_row(table, row) for row in table.rows if row.day or row.value or row.feed]
            pairs = sorted(
                zip(rows, [row for row in table.rows if row.day or row.value or row.feed], strict=True),
                key=lambda pair: pair[0]["day"],
            )
            self._order[table.name] = [row for _data, row in pairs]
            data = [one for one, _row in pairs]
            if table.fed:
                found["feeds"] = data
            elif data:
                found["curves"][table.name] = data
        return found

    def refused(self, fields: Mapping[str, list[Any]]) -> list[str]:
        """Put what the service refused at its row; return what has no row."""
        left = []
        for path, texts in fields.items():
            said = [str(text) for text in texts]
            parts = _PATH.match(path)
            table = self._table(parts["table"]) if parts else None
            if parts is None or table is None:
                left += said
            elif table.name == SINGLE:
                row = next((row for row in table.rows if row.key == parts["rest"]), None)
                (table.problems if row is None else row.problems).extend(said)
            elif parts["index"] is None:
                table.problems += said
            else:
                self._order[table.name][int(parts["index"])].problems += said
        return left

    def _table(self, name: str) -> TypedTable | None:
        return next((table for table in self.tables if table.name == name), None)

    def _typed(self, data: Mapping[str, str]) -> list[TypedTable]:
        rows: dict[str, dict[str, TypedRow]] = {}
        for name, text in data.items():
            parts = _INPUT.match(name)
            if (
                parts
                and parts["table"] in self._stored
                and (parts["table"] != SINGLE or parts["row"] in RULES)
            ):
                row = rows.setdefault(parts["table"], {}).setdefault(parts["row"], TypedRow(parts["row"]))
                setattr(row, parts["field"], text.strip())
        tables = []
        for table in _tables(self.base, self.system):
            table.rows = list(rows.get(table.name, {}).values())[:MOST_ROWS]
            for row in table.rows if not table.timed else ():
                row.label, row.unit = (
                    _(RULE_MEASURES[row.key].label),
                    RULE_MEASURES[row.key].unit_label(self.system),
                )
            table.touched = table.rows != self._stored[table.name].rows
            tables.append(table)
        return tables

    def _timed_row(self, table: TypedTable, row: TypedRow) -> dict[str, Any]:
        measure = PROTEIN if table.fed else CURVE_MEASURES[table.name]
        found = self._number(table, row, measure)
        day: int | float = -1
        if re.fullmatch(r"\d{1,5}", row.day, re.ASCII):
            day = int(row.day)
        else:
            row.problems.append(_("The day of age must be a whole number."))
        if not table.fed:
            return {"day": day, **found}
        if not row.feed:
            row.problems.append(_("Name the feed."))
        return {"day": day, "feed": row.feed, "protein_g_per_kg": found["value"], "source": found["source"]}

    def _number(self, table: TypedTable, row: TypedRow, measure: Measure) -> dict[str, Any]:
        """Return the value and source of a row: exactly as stored where nothing was typed, an own figure otherwise."""
        before = next((one for one in self._stored[table.name].rows if one.key == row.key), None)
        same = before is not None and (before.day, before.value, before.feed) == (
            row.day,
            row.value,
            row.feed,
        )
        if before is not None and row.source == before.source and not same:
            row.source = OWN
        row.source = row.source or OWN
        if not is_known(row.source, own=True):
            row.problems.append(_("Choose a source from the list, or leave it blank for your own figure."))
        if same:
            return {"value": _raw(self.base, table.name, row.key), "source": row.source}
        return {"value": self._value(row, measure), "source": row.source}

    def _value(self, row: TypedRow, measure: Measure) -> float | None:
        plain = row.value.replace(",", ".")
        if not re.fullmatch(r"[-+]?(\d{1,9}(\.\d{0,9})?|\.\d{1,9})", plain, re.ASCII):
            row.problems.append(_("Enter a number."))
            return None
        value = measure.stored(float(plain), self.system)
        if not measure.low <= value <= measure.high:
            low, high = (measure.shown(bound, self.system) for bound in (measure.low, measure.high))
            row.problems.append(_("It must be from %(low)s to %(high)s.") % {"low": low, "high": high})
        return value


def _tables(programme: Programme, system: str) -> Iterator[TypedTable]:
    for name in CURVES:
        measure = CURVE_MEASURES[name]
        rows = [
            TypedRow(str(index), str(knot.day), measure.typed(knot.value, system), knot.source)
            for index, knot in enumerate(programme.curves.get(name, ()))
        ]
        yield TypedTable(name, _(measure.label), measure.unit_label(system), rows)
    feeds = [
        TypedRow(str(index), str(one.day), PROTEIN.typed(one.protein_g_per_kg, system), one.source, one.feed)
        for index, one in enumerate(programme.feeds)
    ]
    yield TypedTable(FEEDS, _("Feeds"), _("% protein"), feeds)
    single = [
        TypedRow(
            name,
            value=RULE_MEASURES[name].typed(rule.value, system),
            source=rule.source,
            label=_(RULE_MEASURES[name].label),
            unit=RULE_MEASURES[name].unit_label(system),
        )
        for name, rule in programme.rules.items()
    ]
    yield TypedTable(SINGLE, _("Single figures"), "", single)


def _raw(programme: Programme, table: str, key: str) -> float:
    read: dict[str, Callable[[], float]] = {
        FEEDS: lambda: programme.feeds[int(key)].protein_g_per_kg,
        SINGLE: lambda: programme.rules[key].value,
    }
    return read.get(table, lambda: programme.curves[table][int(key)].value)()
