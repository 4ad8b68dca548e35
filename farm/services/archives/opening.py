"""Opens an archive that may be damaged or made to do harm: every entry is judged before any of it is read.

Nothing is ever written under a name from the file. Limits: project default (judgement).
"""

from __future__ import annotations

import hashlib
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.queries.archives import shape

MB = 1024 * 1024
MOST_ENTRIES = 20_000
MOST_BYTES = 1024 * MB  # of all entries, unpacked
MOST_ROW_BYTES = 128 * MB  # of all rows: they are read into memory
MOST_ENTRY_BYTES = {shape.FILES: 8 * MB, shape.TABLES: 256 * MB, shape.ROWS: MOST_ROW_BYTES, "": MB * 4}
MOST_RATIO = 200  # an honest archive packs to about a tenth
_SMALL = MB  # of an entry so small the ratio tells nothing
_CHUNK = 64 * 1024
_NAME = re.compile(
    rf"{re.escape(shape.ABOUT)}|{shape.SUMS}|{re.escape(shape.README)}"
    rf"|{shape.ROWS}/[a-z]{{1,40}}\.jsonl|{shape.TABLES}/[a-z_]{{1,40}}\.csv"
    rf"|{shape.FILES}/[a-z]{{1,40}}/[1-9][0-9]{{0,17}}\.(?:{'|'.join(shape.AS_FILES.values())})"
)
_SUM = re.compile(r"([0-9a-f]{64})  ([^\r\n]+)")
_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError, ValueError)


def refuse(text: str, **values: object) -> BadInput:
    """Return the refusal of an archive, to be raised: `text` is translated already."""
    return BadInput.at("file", text % values if values else text)


class Archive:
    """An archive whose entries have all been judged by name and size, and proved to be what its sums say."""

    def __init__(self, file: IO[bytes]) -> None:
        try:
            self._zip = zipfile.ZipFile(file)
        except _BROKEN as broken:
            text = _(
                "This is no archive of a farm, or it was cut off on the way. Choose the .zip as it was saved."
            )
            raise refuse(text) from broken
        self.entries = _judged(self._zip.infolist())
        for name in (shape.ABOUT, shape.SUMS):
            if name not in self.entries:
                text = _("This .zip is no archive of a farm: %(name)s is missing.")
                raise refuse(text, name=name)
        self._prove()

    def under(self, folder: str) -> list[str]:
        """Return the names of the entries of a folder, in order."""
        return sorted(name for name in self.entries if name.startswith(folder + "/"))

    def octets(self, name: str) -> bytes:
        """Return one entry, of no more octets than it was judged by."""
        return b"".join(self._pieces(name))

    @contextmanager
    def opened(self, name: str) -> Iterator[IO[bytes]]:
        """Open one entry for reading line by line. What cannot be unpacked is refused."""
        try:
            with self._zip.open(self.entries[name]) as entry:
                yield entry
        except BadInput:
            raise
        except _BROKEN as broken:
            raise refuse(_("%(name)s in it cannot be unpacked: the file is damaged."), name=name) from broken

    def _pieces(self, name: str) -> Iterator[bytes]:
        left = self.entries[name].file_size
        with self.opened(name) as entry:
            while piece := entry.read(_CHUNK):
                left -= len(piece)
                if left < 0:
                    raise refuse(_("%(name)s in it is larger than it says."), name=name)
                yield piece

    def _prove(self) -> None:
        """Compare every entry with its sum. Raises BadInput for one that differs, lacks a sum or is not there."""
        said = self._sums()
        if set(said) != set(self.entries) - {shape.SUMS}:
            odd = min(set(said) ^ (set(self.entries) - {shape.SUMS}))
            raise refuse(
                _("Its list of contents does not fit: %(name)s is missing or one too many."), name=odd
            )
        for name, digest in said.items():
            found = hashlib.sha256()
            for piece in self._pieces(name):
                found.update(piece)
            if found.hexdigest() != digest:
                raise refuse(
                    _("%(name)s in it was changed or damaged. Use the file as it was saved."), name=name
                )

    def _sums(self) -> dict[str, str]:
        found: dict[str, str] = {}
        for line in self.octets(shape.SUMS).decode("utf-8", "replace").splitlines():
            read = _SUM.fullmatch(line)
            if read is None or read[2] in found:
                raise refuse(_("Its list of contents, SHA256SUMS, cannot be read."))
            found[read[2]] = read[1]
        return found


def _judged(entries: list[zipfile.ZipInfo]) -> dict[str, zipfile.ZipInfo]:
    if len(entries) > MOST_ENTRIES:
        raise refuse(_("It has more than %(most)d entries."), most=MOST_ENTRIES)
    found: dict[str, zipfile.ZipInfo] = {}
    for entry in entries:
        if not _NAME.fullmatch(entry.filename) or entry.orig_filename != entry.filename:
            text = _("“%(name)s” does not belong into an archive of a farm.")
            raise refuse(text, name=entry.orig_filename[:80])
        if entry.filename in found:
            raise refuse(_("%(name)s is in it twice."), name=entry.filename)
        _judge(entry)
        found[entry.filename] = entry
    if sum(entry.file_size for entry in entries) > MOST_BYTES:
        raise refuse(_("Unpacked it would be larger than %(most)d MB."), most=MOST_BYTES // MB)
    if sum(one.file_size for name, one in found.items() if name.startswith(shape.ROWS)) > MOST_ROW_BYTES:
        raise refuse(_("Its records are larger than %(most)d MB."), most=MOST_ROW_BYTES // MB)
    return found


def _judge(entry: zipfile.ZipInfo) -> None:
    folder = entry.filename.partition("/")[0] if "/" in entry.filename else ""
    mode = entry.external_attr >> 16
    if entry.flag_bits & 0x1:
        raise refuse(_("It is locked with a password. Save it again without one."))
    if stat.S_IFMT(mode) not in (0, stat.S_IFREG):
        raise refuse(_("%(name)s in it is no ordinary file."), name=entry.filename)
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise refuse(_("%(name)s in it is packed in a way we don't read."), name=entry.filename)
    if entry.file_size > MOST_ENTRY_BYTES[folder]:
        raise refuse(_("%(name)s in it is too large."), name=entry.filename)
    if entry.file_size > _SMALL and entry.file_size > MOST_RATIO * max(entry.compress_size, 1):
        raise refuse(_("%(name)s in it would blow up when unpacked."), name=entry.filename)
