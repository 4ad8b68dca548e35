"""What birds show when they are too cold, too hot or in a draught, and what to do about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from farm.phrase import N_
from farm.trade.programme import SPECIES
from farm.trade.reading import Problem, Reader, TableError, read
from farm.trade.sources import take_source

VERDICTS = ("ok", "cold", "hot", "draught")


@dataclass(frozen=True, slots=True)
class Behaviour:
    """Something a keeper can see. species: the only species it is told of, or None for all. verdict: of VERDICTS."""

    key: str
    seen: str
    advice: str
    source: str
    species: str | None
    verdict: str


@cache
def behaviours() -> Mapping[str, Behaviour]:
    """Return every built-in behaviour by its key, in the order pages list them, read once."""
    return from_table(read("behaviours.toml"))


def from_table(table: Mapping[str, Any]) -> Mapping[str, Behaviour]:
    """Return the behaviours of a table by key. Raises TableError with every problem, naming row and field."""
    problems: list[Problem] = []
    found = {
        key: _behaviour(key, Reader(row, f"behaviours.toml: {key}", problems)) for key, row in table.items()
    }
    if problems:
        raise TableError(problems)
    return MappingProxyType(found)


def behaviours_of(species: str) -> tuple[Behaviour, ...]:
    """Return the behaviours to look for in birds of this species."""
    return tuple(each for each in behaviours().values() if each.species in (None, species))


def _behaviour(key: str, row: Reader) -> Behaviour:
    behaviour = Behaviour(
        key=key,
        seen=row.text("seen"),
        advice=row.text("advice"),
        source=take_source(row),
        species=row.text("species", default="") or None,
        verdict=row.text("verdict"),
    )
    if behaviour.verdict not in VERDICTS:
        row.wrong("verdict", N_("%(verdict)s is not a known verdict"), verdict=behaviour.verdict)
    if behaviour.species is not None and behaviour.species not in SPECIES:
        row.wrong("species", N_("%(species)s is not a known species"), species=behaviour.species)
    row.done()
    return behaviour
