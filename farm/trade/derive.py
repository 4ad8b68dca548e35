"""Curves of one built-in table that are taken from another: `{ like = "duck", factor = 0.9, source = "..." }`.

like: key of the other programme. curve: its curve, this one's name unless given. factor: what every value is
multiplied by, with the source of that judgement; without it the rows and their sources are taken as they
stand. hatch_g: the weight on day 0, which no factor changes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from farm.phrase import N_
from farm.trade.programme import CURVES
from farm.trade.reading import Problem, Reader
from farm.trade.sources import take_source

Rows = list[dict[str, Any]]


def resolved(tables: Mapping[str, dict[str, Any]], problems: list[Problem]) -> dict[str, dict[str, Any]]:
    """Return the tables (by file name) with every derived curve written out as rows."""
    return {
        name: {
            **table,
            "curves": {
                curve: _rows(tables, name, curve, problems, ()) if isinstance(rows, Mapping) else rows
                for curve, rows in table.get("curves", {}).items()
            },
        }
        for name, table in tables.items()
    }


def _rows(
    tables: Mapping[str, Any],
    name: str,
    curve: str,
    problems: list[Problem],
    seen: tuple[tuple[str, str], ...],
) -> Rows:
    rows = tables[name].get("curves", {}).get(curve)
    if not isinstance(rows, Mapping):
        return rows or []
    reader = Reader(rows, f"{name}: curves.{curve}", problems)
    other = f"{reader.text('like')}.toml"
    target = reader.text("curve", default=curve)
    factor = reader.number("factor", 0.5, 1.6) if "factor" in rows else None
    source = take_source(reader) if factor is not None else ""
    hatch_g = reader.number("hatch_g", 4, 160) if "hatch_g" in rows else None
    reader.done()
    if other not in tables or target not in tables[other].get("curves", {}) or (name, curve) in seen:
        reader.wrong("like", N_("there is no such curve to take"))
        return []
    base = _rows(tables, other, target, problems, (*seen, (name, curve)))
    return [_scaled(row, curve, factor, source, hatch_g) for row in base]


def _scaled(
    row: dict[str, Any], curve: str, factor: float | None, source: str, hatch_g: float | None
) -> dict[str, Any]:
    if hatch_g is not None and row.get("day") == 0:
        return {**row, "value": hatch_g, "source": source or row.get("source")}
    if factor is None or not math.isfinite(factor):
        return dict(row)
    digits = 3 if CURVES[curve][0] in ("kg", "m²", "L") else 1
    return {**row, "value": round(row["value"] * factor, digits), "source": source}
