"""Single numbers that hold for every programme, each with its source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from farm.trade.reading import Problem, Reader, TableError, read
from farm.trade.sources import take_source


@dataclass(frozen=True, slots=True)
class Figure:
    """A number with its unit and source."""

    value: float
    unit: str
    source: str


@cache
def general() -> Mapping[str, Mapping[str, Figure]]:
    """Return the figures by group and name: `general()["water"]["hot_from_c"].value`. Raises TableError."""
    problems: list[Problem] = []
    found = {
        group: MappingProxyType(
            {
                name: _figure(Reader(row, f"general.toml: {group}.{name}", problems))
                for name, row in rows.items()
            }
        )
        for group, rows in read("general.toml").items()
    }
    if problems:
        raise TableError(problems)
    return MappingProxyType(found)


def figure(group: str, name: str) -> float:
    """Return the bare value of one figure."""
    return general()[group][name].value


def _figure(row: Reader) -> Figure:
    found = Figure(row.number("value", 0, 10_000), row.text("unit"), take_source(row))
    row.done()
    return found
