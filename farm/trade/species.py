"""Plain names of the species, their types and their young."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from farm.phrase import N_
from farm.trade.programme import SPECIES
from farm.trade.reading import Problem, Reader, TableError, read


@dataclass(frozen=True, slots=True)
class Type:
    """A type of a species: `young` and `young_plural` are what one and many birds of a batch are called."""

    key: str
    name: str
    young: str
    young_plural: str


@dataclass(frozen=True, slots=True)
class Species:
    """A species: its plain name, its types by key, and whether it is waterfowl."""

    key: str
    name: str
    plural: str
    waterfowl: bool
    types: Mapping[str, Type]


@cache
def species() -> Mapping[str, Species]:
    """Return every species by its key. Raises TableError naming species and field."""
    problems: list[Problem] = []
    found = {
        key: _species(key, Reader(row, f"species.toml: {key}", problems))
        for key, row in read("species.toml").items()
    }
    if problems:
        raise TableError(problems)
    return MappingProxyType(found)


def young(species_key: str, type_key: str) -> tuple[str, str]:
    """Return what one bird and many birds of a batch are called: `("poult", "poults")`.

    A type this table does not name (a farm's own programme) takes the first type's words. Raises KeyError for
    an unknown species.
    """
    types = species()[species_key].types
    found = types.get(type_key) or next(iter(types.values()))
    return found.young, found.young_plural


def _species(key: str, row: Reader) -> Species:
    types = {
        name: _type(name, Reader(each, row.at(f"types.{name}"), row.problems))
        for name, each in dict(row.take("types", {})).items()
    }
    found = Species(
        key, row.text("name"), row.text("plural"), bool(row.take("waterfowl", False)), MappingProxyType(types)
    )
    if key not in SPECIES:
        row.wrong("name", N_("%(species)s is not a known species"), species=key)
    if not types:
        row.wrong("types", N_("needs at least one row"))
    row.done()
    return found


def _type(key: str, row: Reader) -> Type:
    found = Type(key, row.text("name"), row.text("young"), row.text("young_plural"))
    row.done()
    return found
