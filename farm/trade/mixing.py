"""Which birds never share housing, and how far apart in age brood-mates may be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from farm.phrase import N_
from farm.trade.programme import SPECIES
from farm.trade.reading import Problem, Reader, TableError, read
from farm.trade.sources import take_source

SCOPES = ("housing and ground", "brooding")


@dataclass(frozen=True, slots=True)
class PairRule:
    """Two kinds of birds that are kept apart.

    scope: `housing and ground` always, `brooding` while either still needs heat. rest_days: between one kind
    and the other on the same ground (0 where the scope is brooding).
    """

    key: str
    one: frozenset[str]
    other: frozenset[str]
    scope: str
    rest_days: int
    text: str
    source: str
    rest_source: str

    def holds_for(self, first: str, second: str) -> bool:
        """Return whether the rule parts these two species."""
        return (first in self.one and second in self.other) or (first in self.other and second in self.one)


@dataclass(frozen=True, slots=True)
class AgeGap:
    """How far apart in days of age brood-mates may be: warn over one figure, refuse over the other."""

    warn_over_days: int
    refuse_over_days: int
    text: str
    source: str
    days_source: str


@dataclass(frozen=True, slots=True)
class IntoHens:
    """When reared pullets join the hens: half-open days of age, after days in sight through mesh."""

    from_day: int
    to_day: int
    in_sight_days_from: int
    in_sight_days_to: int
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Mixing:
    """Every rule about who may live with whom. single_species and isolation: (text, source), days and the same."""

    pairs: tuple[PairRule, ...]
    age_gap: AgeGap
    single_species: tuple[str, str]
    isolation: tuple[int, str, str]
    into_hens: IntoHens

    def apart(self, first: str, second: str, brooding: bool = True) -> PairRule | None:
        """Return the rule that parts two species, or None.

        brooding: whether either bird still needs heat; rules of the scope `brooding` hold only then.
        """
        for rule in self.pairs:
            if rule.holds_for(first, second) and (brooding or rule.scope != "brooding"):
                return rule
        return None


@cache
def mixing() -> Mixing:
    """Return the built-in rules, read once."""
    return from_table(read("mixing.toml"))


def from_table(rows: Mapping[str, Any]) -> Mixing:
    """Return the rules of a table. Raises TableError with every problem, naming row and field."""
    problems: list[Problem] = []
    table = dict(rows)
    row = {name: Reader(table.pop(name, None), f"mixing.toml: {name}", problems) for name in _SINGLE}
    rules = Mixing(
        pairs=tuple(_pair(i, each, problems) for i, each in enumerate(table.pop("pair", []))),
        age_gap=_age_gap(row["age_gap"]),
        single_species=(row["single_species"].text("text"), take_source(row["single_species"])),
        isolation=(
            row["isolation"].whole("days", 0, 90),
            row["isolation"].text("text"),
            take_source(row["isolation"]),
        ),
        into_hens=_into_hens(row["into_hens"]),
    )
    for reader in (*row.values(), _leftover(table, problems)):
        reader.done()
    if problems:
        raise TableError(problems)
    return rules


_SINGLE = ("age_gap", "single_species", "isolation", "into_hens")


def _leftover(table: Mapping[str, Any], problems: list[Problem]) -> Reader:
    return Reader(table, "mixing.toml: ", problems)


def _age_gap(row: Reader) -> AgeGap:
    return AgeGap(
        row.whole("warn_over_days", 0, 60),
        row.whole("refuse_over_days", 0, 60),
        row.text("text"),
        take_source(row),
        take_source(row, name="days_source"),
    )


def _into_hens(row: Reader) -> IntoHens:
    return IntoHens(
        row.whole("from_day", 0, 400),
        row.whole("to_day", 0, 400),
        row.whole("in_sight_days_from", 0, 60),
        row.whole("in_sight_days_to", 0, 60),
        row.text("text"),
        take_source(row),
    )


def _pair(index: int, data: object, problems: list[Problem]) -> PairRule:
    row = Reader(data, f"mixing.toml: pair[{index}]", problems)
    rule = PairRule(
        key=row.text("key"),
        one=frozenset(row.texts("one", SPECIES)),
        other=frozenset(row.texts("other", SPECIES)),
        scope=row.text("scope"),
        rest_days=row.optional_whole("rest_days", 0, 3650) or 0,
        text=row.text("text"),
        source=take_source(row),
        rest_source=take_source(row, name="rest_source") if "rest_source" in row.row else "",
    )
    if rule.scope not in SCOPES:
        row.wrong("scope", N_("%(scope)s is not a known scope"), scope=rule.scope)
    row.done()
    return rule
