"""Writes an archive: rows, files and tables into one zip, always in the same order, with a digest of each entry."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Iterable, Iterator
from datetime import datetime
from importlib.metadata import version
from typing import IO, Any

from django.utils.translation import gettext as _

from farm.models import Farm
from farm.queries.archives import rows, shape, tables, values

#: Every entry has this time, so that equal records make equal octets.
_TIME = (1980, 1, 1, 0, 0, 0)
_MODE = 0o600 << 16


class _Zip:
    """A zip under way, and the digests of what is in it."""

    def __init__(self, to: IO[bytes]) -> None:
        self.zip = zipfile.ZipFile(to, "w", zipfile.ZIP_DEFLATED)
        self.sums: list[tuple[str, str]] = []

    def put(self, name: str, pieces: Iterable[bytes], *, packed: bool = True) -> None:
        """Write one entry. packed False: it is compressed already."""
        entry, digest = zipfile.ZipInfo(name, _TIME), hashlib.sha256()
        entry.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
        entry.external_attr = _MODE
        with self.zip.open(entry, "w") as out:
            for piece in pieces:
                out.write(piece)
                digest.update(piece)
        self.sums.append((digest.hexdigest(), name))


def pack(farm: Farm, to: IO[bytes], now: datetime) -> None:
    """Write everything of a farm into `to`. The caller keeps writers away while it runs."""
    out = _Zip(to)
    nouns: dict[str, dict[str, Any]] = {}
    files = 0
    for noun in shape.exported():
        written = _Counted(_line(row) for row in rows.of(farm, noun))
        out.put(f"{shape.ROWS}/{noun}.jsonl", written)
        nouns[noun] = {"columns": list(shape.columns(noun)), "rows": written.count}
        for number, ending, octets in rows.files(farm, noun):
            out.put(f"{shape.FILES}/{noun}/{number}.{ending}", [octets], packed=False)
            files += 1
    for table in tables.TABLES:
        out.put(f"{shape.TABLES}/{table}.csv", (line.encode() for line in tables.lines(farm, table)))
    out.put(shape.README, [_readme(farm, now).encode()])
    out.put(shape.ABOUT, [_about(farm, now, nouns, files)])
    out.put(shape.SUMS, [_sums(out.sums)])
    out.zip.close()


class _Counted:
    """Pieces that are counted as they go by."""

    def __init__(self, pieces: Iterable[bytes]) -> None:
        self.pieces, self.count = pieces, 0

    def __iter__(self) -> Iterator[bytes]:
        for piece in self.pieces:
            self.count += 1
            yield piece


def _line(row: dict[str, Any]) -> bytes:
    return (json.dumps(row, ensure_ascii=False, allow_nan=False, separators=(",", ":")) + "\n").encode()


def _about(farm: Farm, now: datetime, nouns: dict[str, dict[str, Any]], files: int) -> bytes:
    said = {
        "format": shape.FORMAT,
        "schema": shape.SCHEMA,
        "written_at": values.plain(now),
        "written_by": f"Featherdays {version('featherdays')}",
        "farm": farm.name,
        "nouns": nouns,
        "files": files,
        "stays_behind": {name: _(why) for name, why in shape.STAYS_BEHIND.items()},
    }
    return (json.dumps(said, ensure_ascii=False, indent=1) + "\n").encode()


def _sums(sums: list[tuple[str, str]]) -> bytes:
    return "".join(f"{digest}  {name}\n" for digest, name in sums).encode()


def _readme(farm: Farm, now: datetime) -> str:
    lines = [
        _("Everything Featherdays keeps of %(farm)s, written on %(day)s.")
        % {"farm": farm.name, "day": now.date().isoformat()},
        "",
        _(
            "To have the farm again, here or on another Featherdays: sign in, open “Bring a farm here”,"
            " choose this file."
        ),
        _("Don't unpack it for that, and don't change anything in it: a changed file is refused."),
        "",
        _("tables/      for people: open in a spreadsheet; days are the farm's, names stand for numbers"),
        _("rows/        for programs: every record, one line of JSON each; all numbers SI, all times UTC"),
        _("files/       pictures, named by the record they belong to"),
        _("farm.json    what made this file and when, which records and columns are in it"),
        _("SHA256SUMS   to prove that nothing was changed: sha256sum -c SHA256SUMS"),
        "",
        _("What stays behind:"),
        *(f"- {name}: {_(why)}" for name, why in shape.STAYS_BEHIND.items()),
        "",
        _("It holds names, notes and pictures of people. Keep it as you would keep your papers."),
    ]
    return "\n".join(lines) + "\n"
