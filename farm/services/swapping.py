"""A code in place of a name, in every text it stands in: what forgetting somebody comes down to."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from typing import Any

from django.db.models import F


class Swap:
    """Puts the code in place of the names wherever they stand as words of their own.

    known: all names that may stand there: "Ann" is not in "Ann Smith" when that is somebody else. E-mail addresses are
    found in whatever case.
    """

    def __init__(self, known: Iterable[str], names: Collection[str], code: str) -> None:
        longest_first = sorted({*known, *names}, key=len, reverse=True)
        self.pattern = re.compile(rf"(?<!\w)(?:{'|'.join(map(_found, longest_first))})(?!\w)")
        self.names, self.code = {*names, *(name.casefold() for name in names if "@" in name)}, code

    def of(self, value: Any) -> Any:
        """Return a JSON value with the code in all its texts."""
        if isinstance(value, str):
            return self.pattern.sub(self._said, value)
        if isinstance(value, list):
            return [self.of(each) for each in value]
        if isinstance(value, dict):
            return {key: self.of(each) for key, each in value.items()}
        return value

    def _said(self, found: re.Match[str]) -> str:
        said = found[0]
        key = said.casefold() if "@" in said else said
        return self.code if key in self.names else said


def _found(name: str) -> str:
    return f"(?i:{re.escape(name)})" if "@" in name else re.escape(name)


def rewrite(rows: Any, fields: Iterable[str], swap: Any) -> None:
    """Write the rows that a swap changes in `fields`, past the history; a form open meanwhile is stale."""
    fields = tuple(fields)
    for row in rows:
        new = {name: swap.of(getattr(row, name)) for name in fields}
        differing = {name: value for name, value in new.items() if value != getattr(row, name)}
        if differing:
            version = {"version": F("version") + 1} if hasattr(row, "version") else {}
            type(row)._default_manager.filter(pk=row.pk).update(**differing, **version)
