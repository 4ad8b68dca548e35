"""Reads an archive's rows: known nouns and columns only, each line JSON of bounded depth, brought to today's shape."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from farm.queries.archives import shape, values
from farm.services.archives.opening import Archive, refuse
from farm.services.archives.upgrades import Rows, upgraded

# Limits: project default (judgement).
MOST_LINE = 4 * 1024 * 1024  # octets
MOST_ROWS = 200_000
MOST_DEPTH = 40
_HALF = re.compile("[\ud800-\udfff]")
_NUMBERS = 2**63  # what a column of a number can hold


@dataclass(frozen=True)
class Read:
    """An archive's records as JSON in today's shape, and what it says of itself. files: octets by noun and number."""

    name: str
    written_on: str
    rows: Rows
    files: Mapping[tuple[str, int], str]


def read(archive: Archive) -> Read:
    """Return what an archive holds. Raises BadInput at "file" for anything that is not as it says."""
    about = _about(archive)
    raw, declared = {}, {}
    for noun, said in about["nouns"].items():
        declared[noun] = said["columns"]
        raw[noun] = _lines(archive, noun, said)
    if {f"{shape.ROWS}/{noun}.jsonl" for noun in raw} != set(archive.under(shape.ROWS)):
        raise refuse(_("It has records of kinds that %(name)s does not name."), name=shape.ABOUT)
    if sum(map(len, raw.values())) > MOST_ROWS:
        raise refuse(_("It has more than %(most)d records."), most=MOST_ROWS)
    found = upgraded(raw, about["schema"])
    rows = {noun: _shaped(noun, found.get(noun, [])) for noun in shape.exported()}
    for noun in found:
        if noun not in rows:
            raise refuse(_("It has records called “%(noun)s”, which we don't know."), noun=noun[:40])
    if len(rows["farm"]) != 1:
        raise refuse(_("It must hold one farm, not %(count)d."), count=len(rows["farm"]))
    return Read(str(about["farm"]), str(about["written_at"])[:10], rows, _files(archive, rows))


def _about(archive: Archive) -> dict[str, Any]:
    said = _json(archive.octets(shape.ABOUT), shape.ABOUT)
    if not isinstance(said, dict) or said.get("format") != shape.FORMAT:
        raise refuse(_("This .zip is no archive of a farm."))
    nouns = said.get("nouns")
    right = (
        type(said.get("schema")) is int
        and said["schema"] >= 1
        and isinstance(said.get("farm"), str)
        and isinstance(said.get("written_at"), str)
        and isinstance(nouns, dict)
        and all(_is_noun(one) for one in nouns.values())
    )
    if not right:
        raise refuse(_("%(name)s in it does not say what it should."), name=shape.ABOUT)
    return said


def _is_noun(said: Any) -> bool:
    return (
        isinstance(said, dict)
        and type(said.get("rows")) is int
        and isinstance(said.get("columns"), list)
        and all(isinstance(one, str) for one in said["columns"])
    )


def _lines(archive: Archive, noun: str, said: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return a noun's rows, each of exactly the columns that the archive names."""
    name, columns = f"{shape.ROWS}/{noun}.jsonl", set(said["columns"])
    found: list[dict[str, Any]] = []
    if name not in archive.entries:
        raise refuse(_("%(name)s is missing in it."), name=name[:80])
    with archive.opened(name) as entry:
        while line := entry.readline(MOST_LINE + 1):
            where = f"{name}:{len(found) + 1}"
            if len(line) > MOST_LINE:
                raise refuse(_("%(where)s in it is too long."), where=where)
            row = _json(line, where)
            if not isinstance(row, dict) or set(row) != columns:
                raise refuse(_("%(where)s in it has other columns than the archive says."), where=where)
            found.append(row)
            if len(found) > MOST_ROWS:
                raise refuse(_("It has more than %(most)d records."), most=MOST_ROWS)
    if len(found) != said["rows"]:
        text = _("%(name)s in it has %(found)d records instead of %(said)d.")
        raise refuse(text, name=name, found=len(found), said=said["rows"])
    return found


def _json(octets: bytes, where: str) -> Any:
    """Return what JSON says, or refuse: no NaN, no text a database can't keep, no bottomless nesting."""
    try:
        said = json.loads(octets.decode("utf-8"), parse_constant=_no_number, object_pairs_hook=_once)
        if _fits(said):
            return said
    except (ValueError, RecursionError) as broken:
        raise refuse(_("%(where)s in it cannot be read."), where=where) from broken
    raise refuse(_("%(where)s in it cannot be read."), where=where)


def _no_number(word: str) -> None:
    raise ValueError(word)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name is said twice")
    return found


def _fits(said: Any) -> bool:
    level = [said]
    for _depth in range(MOST_DEPTH):
        if not level:
            return True
        if not all(_keepable(one) for one in level):
            return False
        level = [inner for one in level for inner in _inside(one)]
    return not level


def _inside(one: Any) -> tuple[Any, ...]:
    if isinstance(one, dict):
        return (*one, *one.values())
    return tuple(one) if isinstance(one, list) else ()


def _keepable(one: Any) -> bool:
    if isinstance(one, str):
        # Half a character cannot be stored, nor can PostgreSQL keep the octet 0.
        return "\0" not in one and (one.isascii() or not _HALF.search(one))
    if type(one) is float:
        return one == one and abs(one) < float("inf")
    return type(one) is not int or -_NUMBERS <= one < _NUMBERS


def _shaped(noun: str, found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return rows with exactly today's columns: those the archive did not have take their default."""
    columns = shape.columns(noun)
    known = set(found[0]) if found else set()
    if unknown := sorted(known - set(columns)):
        text = _("Its records called “%(noun)s” have a column “%(column)s”, which we don't know.")
        raise refuse(text, noun=noun, column=unknown[0][:40])
    for name in sorted(set(columns) - known) if found else ():
        if not values.may_be_missing(columns[name]):
            text = _("Its records called “%(noun)s” lack “%(column)s”.")
            raise refuse(text, noun=noun, column=name)
    return [
        {name: row[name] if name in row else values.empty(columns[name]) for name in columns} for row in found
    ]


def _files(archive: Archive, rows: Rows) -> dict[tuple[str, int], str]:
    """Return the names of the files by noun and number; each belongs to one row, and each such row has one."""
    found = {}
    for name in archive.under(shape.FILES):
        noun, _slash, last = name.removeprefix(shape.FILES + "/").partition("/")
        found[noun, int(last.partition(".")[0])] = name
    owners = {column.partition(".")[0] for column in shape.AS_FILES}
    wanted = {(noun, row["id"]) for noun in owners for row in rows[noun] if type(row["id"]) is int}
    if set(found) != wanted:
        raise refuse(_("Its pictures and the records they belong to do not fit together."))
    return found
