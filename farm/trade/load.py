"""Rearing programmes in and out: the built-in ones from their tables, a farm's own copies from plain data.

One reader serves both, so a keeper's edited copy meets exactly the rules the built-in tables meet. All
problems are gathered before any is raised. Plain data is what JSON can hold; `from_dict(to_dict(p)) == p`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from itertools import pairwise
from types import MappingProxyType
from typing import Any

from farm.phrase import N_
from farm.trade.chores import chores
from farm.trade.derive import resolved
from farm.trade.programme import (
    CURVES,
    OPTIONAL_RULES,
    PROTEIN_G_PER_KG,
    REQUIRED_CURVES,
    RISING_CURVES,
    RULES,
    SPECIES,
    FeedPhase,
    Knot,
    Programme,
    Rule,
)
from farm.trade.reading import Problem, Reader, TableError, programme_files, read
from farm.trade.sources import take_source

__all__ = ["TableError", "from_dict", "from_tables", "programmes", "to_dict"]

#: Days of age a knot may stand at: nine years, longer than any bird here is kept to a programme.
LAST_DAY = 3287


@cache
def programmes() -> Mapping[str, Programme]:
    """Return every built-in programme by its key, read once. Raises TableError naming file, table and row."""
    return from_tables({name: read("programmes", name) for name in programme_files()})


def from_tables(tables: Mapping[str, dict[str, Any]]) -> Mapping[str, Programme]:
    """Return the programmes of several tables by key; curves may be taken from one another.

    tables: by file name. Raises TableError with every problem, paths like `goose.toml: curves.temp_c[3].value`.
    """
    problems: list[Problem] = []
    found: dict[str, Programme] = {}
    for name, table in resolved(tables, problems).items():
        programme = _programme(table, f"{name}: ", problems, own=False)
        found[programme.key] = programme
        if programme.key != name.removesuffix(".toml"):
            Reader(table, f"{name}: ", problems).wrong("key", N_("must be the name of the file"))
    if problems:
        raise TableError(problems)
    return MappingProxyType(found)


def from_dict(data: Mapping[str, Any], where: str = "") -> Programme:
    """Return the programme that plain data describes.

    where: put before every path, for example a file name. Accepts programme.OWN as a source beside the known
    keys. Raises TableError with every problem, paths like `curves.temp_c[3].value`.
    """
    problems: list[Problem] = []
    programme = _programme(data, f"{where}: " if where else "", problems, own=True)
    if problems:
        raise TableError(problems)
    return programme


def to_dict(programme: Programme) -> dict[str, Any]:
    """Return the programme as plain data that JSON can hold."""
    return {
        "key": programme.key,
        "name": programme.name,
        "species": programme.species,
        "type": programme.type,
        "jobs": list(programme.jobs),
        "rules": {name: {"value": r.value, "source": r.source} for name, r in programme.rules.items()},
        "curves": {
            name: [{"day": k.day, "value": k.value, "source": k.source} for k in knots]
            for name, knots in programme.curves.items()
        },
        "feeds": [
            {"day": f.day, "feed": f.feed, "protein_g_per_kg": f.protein_g_per_kg, "source": f.source}
            for f in programme.feeds
        ],
    }


def _programme(data: object, path: str, problems: list[Problem], own: bool) -> Programme:
    reader = Reader(data, path, problems)
    programme = Programme(
        key=reader.text("key"),
        name=reader.text("name"),
        species=reader.text("species"),
        type=reader.text("type"),
        curves=_curves(Reader(reader.take("curves", {}), reader.at("curves"), problems), own),
        rules=_rules(Reader(reader.take("rules", {}), reader.at("rules"), problems), own),
        feeds=_feeds(reader, own),
        jobs=reader.texts("jobs", chores()),
    )
    if programme.species and programme.species not in SPECIES:
        reader.wrong("species", N_("%(species)s is not a known species"), species=programme.species)
    reader.done()
    return programme


def _curves(reader: Reader, own: bool) -> Mapping[str, tuple[Knot, ...]]:
    found = {}
    for name in CURVES:
        if name in reader.row:
            found[name] = _knots(reader, name, own)
        elif name in REQUIRED_CURVES:
            reader.wrong(name, N_("this curve is missing"))
    reader.done()
    return MappingProxyType(found)


def _knots(table: Reader, name: str, own: bool) -> tuple[Knot, ...]:
    _, _, low, high = CURVES[name]
    knots = []
    for reader in _rows(table, name):
        knots.append(
            Knot(
                reader.whole("day", 0, LAST_DAY), reader.number("value", low, high), take_source(reader, own)
            )
        )
        reader.done()
    _check_days(table, name, [knot.day for knot in knots])
    if name in RISING_CURVES:
        for row, (before, after) in enumerate(pairwise(knots), start=1):
            if after.value < before.value:
                table.wrong(f"{name}[{row}].value", N_("must not be less than the row before"))
    return tuple(knots)


def _rules(reader: Reader, own: bool) -> Mapping[str, Rule]:
    found = {}
    for name, (_, low, high) in RULES.items():
        if name in reader.row:
            row = Reader(reader.take(name), reader.at(name), reader.problems)
            found[name] = Rule(row.number("value", low, high), take_source(row, own))
            row.done()
        elif name not in OPTIONAL_RULES:
            reader.wrong(name, N_("this rule is missing"))
    reader.done()
    first, last = found.get("heat_off_earliest_day"), found.get("heat_off_latest_day")
    if first and last and first.value > last.value:
        reader.wrong("heat_off_latest_day.value", N_("must not be before heat_off_earliest_day"))
    return MappingProxyType(found)


def _feeds(table: Reader, own: bool) -> tuple[FeedPhase, ...]:
    phases = []
    for reader in _rows(table, "feeds"):
        day, feed = reader.whole("day", 0, LAST_DAY), reader.text("feed")
        phases.append(
            FeedPhase(
                day, feed, reader.number("protein_g_per_kg", *PROTEIN_G_PER_KG), take_source(reader, own)
            )
        )
        reader.done()
    _check_days(table, "feeds", [phase.day for phase in phases])
    if phases and phases[0].day != 0:
        table.wrong("feeds[0].day", N_("the first feed must start on day 0"))
    return tuple(phases)


def _rows(table: Reader, name: str) -> list[Reader]:
    rows = table.take(name)
    if not isinstance(rows, Sequence) or isinstance(rows, str) or not rows:
        table.wrong(name, N_("needs at least one row"))
        return []
    return [Reader(row, table.at(f"{name}[{index}]"), table.problems) for index, row in enumerate(rows)]


def _check_days(table: Reader, name: str, days: Sequence[int]) -> None:
    for row, (before, after) in enumerate(pairwise(days), start=1):
        if after <= before:
            table.wrong(
                f"{name}[{row}].day", N_("must be later than day %(before)s of the row before"), before=before
            )
