"""Reading the TOML tables, and gathering what is wrong with them in one go.

The folder `tables/` is package data. A `Reader` walks one table: it takes fields by name and type, notes each
problem with its path, and at the end refuses the fields nobody asked for.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Mapping
from importlib import resources
from typing import Any

from farm.phrase import N_, Phrase

Problem = tuple[str, Phrase]


class TableError(ValueError):
    """A table or programme that cannot be used.

    problems: every (path, message) found, path like `curves.temp_c[3].value`, led by the file for built-in
    tables.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: list[Problem] = list(problems)
        super().__init__("\n".join(f"{path}: {message}" for path, message in self.problems))


def read(*names: str) -> dict[str, Any]:
    """Return one TOML table of the package, for example `read("programmes", "goose.toml")`."""
    return tomllib.loads(resources.files("farm.trade").joinpath("tables", *names).read_text(encoding="utf-8"))


def programme_files() -> list[str]:
    """Return the file names of the built-in programmes, sorted."""
    folder = resources.files("farm.trade").joinpath("tables", "programmes")
    return sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".toml"))


class Reader:
    """One table being read; shares its list of problems with the readers of its rows."""

    def __init__(self, row: Any, path: str, problems: list[Problem]) -> None:
        self.path, self.problems = path, problems
        self.row: Mapping[str, Any] = row if isinstance(row, Mapping) else {}
        self._asked: set[str] = set()
        if not isinstance(row, Mapping):
            self.problems.append((path, Phrase(N_("must be a table of named fields"))))
            self._asked.add("*")

    def at(self, name: str) -> str:
        """Return the path of a field of this table."""
        return f"{self.path}.{name}" if self.path and not self.path.endswith(": ") else f"{self.path}{name}"

    def wrong(self, name: str, text: str, **values: Any) -> None:
        """Note a problem at a field."""
        self.problems.append((self.at(name), Phrase(text, values)))

    def take(self, name: str, default: Any = None) -> Any:
        """Return a field as it stands, or the default; the field counts as known."""
        self._asked.add(name)
        return self.row.get(name, default)

    def text(self, name: str, default: str | None = None) -> str:
        """Return a text field; a missing one without default is a problem."""
        value = self.take(name, default)
        if not isinstance(value, str) or (not value.strip() and default is None):
            if not self._missing_table():
                self.wrong(name, N_("must be a text"))
            return default or ""
        return value

    def number(self, name: str, low: float, high: float) -> float:
        """Return a finite number within [low, high]; anything else is a problem (and NaN is returned)."""
        value = self.take(name)
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            if not self._missing_table():
                self.wrong(name, N_("must be a number"))
            return math.nan
        if not low <= value <= high:
            self.wrong(name, N_("%(value)s is outside %(low)s to %(high)s"), value=value, low=low, high=high)
        return float(value)

    def whole(self, name: str, low: int, high: int) -> int:
        """Return a whole number within [low, high]; anything else is a problem (and `low` is returned)."""
        value = self.number(name, low, high)
        if math.isnan(value):
            return low
        if value != int(value):
            self.wrong(name, N_("must be a whole number"))
        return int(value)

    def optional_whole(self, name: str, low: int, high: int) -> int | None:
        """Return a whole number, or None where the field is absent."""
        return self.whole(name, low, high) if name in self.row else self.take(name)

    def texts(self, name: str, allowed: Iterable[str] | None = None) -> tuple[str, ...]:
        """Return a list of texts, each among `allowed` where that is given."""
        value = self.take(name, [])
        if not isinstance(value, (list, tuple)) or not all(isinstance(item, str) for item in value):
            self.wrong(name, N_("must be a list of texts"))
            return ()
        known = None if allowed is None else set(allowed)
        for item in value:
            if known is not None and item not in known:
                self.wrong(name, N_("%(item)s is not known"), item=item)
        return tuple(value)

    def done(self) -> None:
        """Note each field of the table that nobody asked for."""
        for name in sorted(set(self.row) - self._asked):
            self.wrong(name, N_("is not a known field"))

    def _missing_table(self) -> bool:
        return "*" in self._asked
