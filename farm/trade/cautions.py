"""Short warnings the pages show beside the chore, step or number they belong to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from farm.phrase import N_
from farm.trade.reading import Problem, Reader, TableError, read
from farm.trade.sources import take_source

#: How every caution ends: the tool never stands above these.
DEFERRAL = "follow your local code, the product label and your vet."


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning: its short title, its text (ending with DEFERRAL) and who says so."""

    key: str
    title: str
    text: str
    source: str


@cache
def cautions() -> Mapping[str, Caution]:
    """Return every built-in caution by its key, read once."""
    return from_table(read("cautions.toml"))


def from_table(table: Mapping[str, Any]) -> Mapping[str, Caution]:
    """Return the cautions of a table by key. Raises TableError with every problem, naming caution and field."""
    problems: list[Problem] = []
    found = {key: _caution(key, Reader(row, f"cautions.toml: {key}", problems)) for key, row in table.items()}
    if problems:
        raise TableError(problems)
    return MappingProxyType(found)


def _caution(key: str, row: Reader) -> Caution:
    caution = Caution(key, row.text("title"), row.text("text"), take_source(row))
    if not caution.text.endswith(DEFERRAL):
        row.wrong("text", N_("must end with the deferral to local code, label and vet"))
    row.done()
    return caution
