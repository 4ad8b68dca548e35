"""What the eggs of each species ask for: days of the hatch, storage, rates, humidity and size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, TypeVar

from farm.phrase import N_, Phrase
from farm.trade.programme import SPECIES
from farm.trade.reading import Problem, Reader, TableError, read
from farm.trade.sources import take_source

#: Sizes of egg a machine's capacities are given for, smallest first.
SIZES = ("small", "medium", "large", "very_large")

Found = TypeVar("Found")


@dataclass(frozen=True, slots=True)
class EggKind:
    """The eggs of one species.

    size: of SIZES. hatch_first_day, hatch_last_day: days after setting between which they are known to hatch.
    candle_days: days after setting, besides lockdown. best_, refuse_, longest_storage_days: rising. hatch_rate,
    fertility: shares of the eggs set. rh_extra: points above the general humidity. sources: by field name.
    """

    species: str
    size: str
    hatch_first_day: int
    hatch_last_day: int
    candle_days: tuple[int, ...]
    best_storage_days: int
    refuse_storage_days: int
    longest_storage_days: int
    hatch_rate: float
    fertility: float
    rh_extra: float
    sources: Mapping[str, str]


@cache
def egg_kinds() -> Mapping[str, EggKind]:
    """Return the eggs of every species by its key, read once."""
    return from_table(read("eggs.toml"))


def egg_kind(species: str) -> EggKind:
    """Return the eggs of one species. Raises KeyError for an unknown one."""
    return egg_kinds()[species]


def from_table(rows: Mapping[str, Any]) -> Mapping[str, EggKind]:
    """Return the eggs of a table by species. Raises TableError with every problem, naming species and field."""
    problems: list[Problem] = []
    found = {key: _kind(key, Reader(row, f"eggs.toml: {key}", problems)) for key, row in rows.items()}
    for key in SPECIES:
        if key not in found:
            problems.append((f"eggs.toml: {key}", Phrase(N_("needs a row"))))
    if problems:
        raise TableError(problems)
    return MappingProxyType(found)


def _kind(key: str, row: Reader) -> EggKind:
    fields = _Fields(row)
    kind = EggKind(
        species=key,
        size=fields.text("size"),
        hatch_first_day=fields.whole("hatch_first_day", 14, 40),
        hatch_last_day=fields.whole("hatch_last_day", 14, 40),
        candle_days=fields.days("candle_days"),
        best_storage_days=fields.whole("best_storage_days", 0, 35),
        refuse_storage_days=fields.whole("refuse_storage_days", 0, 35),
        longest_storage_days=fields.whole("longest_storage_days", 0, 35),
        hatch_rate=fields.number("hatch_rate", 0, 1),
        fertility=fields.number("fertility", 0, 1),
        rh_extra=fields.number("rh_extra", 0, 20),
        sources=MappingProxyType(fields.sources),
    )
    _check(kind, row)
    row.done()
    return kind


class _Fields:
    """The `{ value, source }` fields of one species' row; gathers who says so."""

    def __init__(self, row: Reader) -> None:
        self.row, self.sources = row, dict[str, str]()

    def text(self, name: str) -> str:
        field = self._field(name)
        return self._close(name, field, field.text("value"))

    def whole(self, name: str, low: int, high: int) -> int:
        field = self._field(name)
        return self._close(name, field, field.whole("value", low, high))

    def number(self, name: str, low: float, high: float) -> float:
        field = self._field(name)
        return self._close(name, field, field.number("value", low, high))

    def days(self, name: str) -> tuple[int, ...]:
        field = self._field(name)
        value = field.take("value")
        if not isinstance(value, list) or not all(type(day) is int and day > 0 for day in value):
            field.wrong("value", N_("must be a list of whole days"))
            value = []
        if sorted(set(value)) != value:
            field.wrong("value", N_("must rise"))
        return self._close(name, field, tuple(value))

    def _field(self, name: str) -> Reader:
        return Reader(self.row.take(name), self.row.at(name), self.row.problems)

    def _close(self, name: str, field: Reader, value: Found) -> Found:
        self.sources[name] = take_source(field)
        field.done()
        return value


def _check(kind: EggKind, row: Reader) -> None:
    """Note what no single field shows. Written so that NaN, already a problem of its own, adds none."""
    if kind.species not in SPECIES:
        row.wrong("size", N_("%(species)s is not a known species"), species=kind.species)
    if kind.size not in SIZES:
        row.wrong("size", N_("%(size)s is not a known size of egg"), size=kind.size)
    if kind.hatch_first_day > kind.hatch_last_day:
        row.wrong("hatch_last_day", N_("comes before the first day of the hatch"))
    if any(day >= kind.hatch_first_day for day in kind.candle_days):
        row.wrong("candle_days", N_("must come before the hatch"))
    if not kind.best_storage_days <= kind.refuse_storage_days <= kind.longest_storage_days:
        row.wrong("refuse_storage_days", N_("must lie between the best and the longest storage"))
    if kind.hatch_rate > kind.fertility:
        row.wrong("hatch_rate", N_("no more eggs hatch than are fertile"))
