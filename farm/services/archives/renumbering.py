"""Gives an archive's rows the numbers they will have here, wherever one is mentioned."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from farm.queries.archives import numbers, shape
from farm.services.archives.opening import refuse
from farm.services.archives.upgrades import Rows

#: Mentions of rows that are gone need numbers too, so that they never come to mean another row.
MOST_NUMBERS = 1_000_000  # project default (judgement)
_MISREAD = (LookupError, TypeError, ValueError, AttributeError)
Reserve = Callable[[type[models.Model], int], list[int]]


class Renumbering:
    """The old numbers of an archive and the new ones for them, in the same order."""

    def __init__(self, rows: Rows, reserve: Reserve) -> None:
        self._wanted: dict[str, set[int]] = {noun: _own(noun, rows[noun]) for noun in rows}
        for noun in rows:
            _refuse_foreign(noun, rows[noun], self._wanted)
        for noun in rows:
            self._over(noun, rows[noun], self._want)
        if sum(map(len, self._wanted.values())) > MOST_NUMBERS:
            raise refuse(_("It mentions too many records."))
        self._new: dict[str, dict[int, int]] = {
            noun: dict(zip(sorted(old), reserve(shape.exported()[noun], len(old)), strict=True))
            for noun, old in self._wanted.items()
        }

    def rows(self, noun: str, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Return rows of a noun with their new numbers."""
        return self._over(noun, rows, self.number)

    def number(self, noun: str, old: int) -> int:
        """Return the new number for an old one; 0 stands for nothing and stays."""
        return self._new[noun][old] if old else 0

    def _want(self, noun: str, old: int) -> int:
        if type(old) is not int or old < 0:
            raise ValueError(old)
        if old:
            self._wanted[noun].add(old)
        return old

    def _over(self, noun: str, rows: list[dict[str, Any]], number: numbers.Number) -> list[dict[str, Any]]:
        found = []
        for row in rows:
            try:
                found.append(numbers.row(noun, row, number))
            except _MISREAD as misread:
                raise unreadable(noun, row) from misread
        return found


def unreadable(noun: str, row: Mapping[str, Any], why: object = "") -> Exception:
    """Return the refusal of one row, to be raised. why: in a programmer's words, for whoever mends the file."""
    said = f" ({why})" if str(why) else ""
    return refuse(
        _("Its record %(number)s of “%(noun)s” holds what cannot be right%(why)s."),
        number=str(row.get("id"))[:20],
        noun=noun,
        why=said[:200],
    )


def _own(noun: str, rows: list[dict[str, Any]]) -> set[int]:
    """Return the numbers of the rows themselves. Raises BadInput unless each has one of its own."""
    found: set[int] = set()
    for row in rows:
        number = row["id"]
        if type(number) is not int or number < 1 or number in found:
            raise unreadable(noun, row)
        found.add(number)
    return found


def _refuse_foreign(noun: str, rows: list[dict[str, Any]], own: Mapping[str, set[int]]) -> None:
    """Refuse a row that points to a row which is not in the archive."""
    for column, field in shape.columns(noun).items():
        if not field.is_relation:
            continue
        target = shape.noun(field.related_model)  # type: ignore[arg-type]
        for row in rows:
            to = row[column]
            if to is not None and (type(to) is not int or to not in own[target]):
                text = _(
                    "Its record %(number)s of “%(noun)s” points to “%(target)s” %(to)s, which is not in it."
                )
                raise refuse(text, number=row["id"], noun=noun, target=target, to=str(to)[:20])
