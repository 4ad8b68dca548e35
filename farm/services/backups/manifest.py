"""What a backup says of itself: which database, when, at which migrations, with how many rows, and each part's sum."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import IO, Any
from zipfile import ZipFile

from farm.services.backups.trouble import BackupTrouble

FORMAT = 1
NAME = "manifest.json"
CHUNK = 1 << 20  # bytes


@dataclass(frozen=True, slots=True)
class Manifest:
    """vendor: sqlite or postgresql. made_at: ISO, UTC. tables: rows by table. migrations: app and name of each.

    sums: SHA-256 by part of the file.
    """

    vendor: str
    made_at: str
    tables: dict[str, int]
    migrations: list[tuple[str, str]]
    sums: dict[str, str] = field(default_factory=dict)
    format: int = FORMAT

    def octets(self) -> bytes:
        """Return it as it is written."""
        return json.dumps(asdict(self), indent=1, sort_keys=True).encode()


def read(octets: bytes) -> Manifest:
    """Return what a file says of itself. Raises BackupTrouble for what is none of ours, or newer."""
    try:
        values: dict[str, Any] = json.loads(octets)
        if values["format"] > FORMAT:
            raise BackupTrouble("This backup was made by a newer Featherdays. Restore it with that one.")
        values["migrations"] = [(app, name) for app, name in values["migrations"]]
        return Manifest(**values)
    except (ValueError, KeyError, TypeError) as error:
        raise BackupTrouble("This file is no backup of Featherdays: its manifest can't be read.") from error


def copied_file(archive: ZipFile, name: str, target: Path) -> str:
    """Copy a part of a file to the disk, readable by its owner alone, and return its SHA-256."""
    with archive.open(name) as source, os.fdopen(os.open(target, _NEW, 0o600), "wb") as file:
        return copied(source, file.write)


_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL


def copied(source: IO[bytes], write: Callable[[bytes], object] = len) -> str:
    """Copy a stream piece by piece and return its SHA-256; without `write` it is only read."""
    digest = hashlib.sha256()
    while piece := source.read(CHUNK):
        digest.update(piece)
        write(piece)
    return digest.hexdigest()


#: The last bytes of a backup, as a zip file's comment: the SHA-256 of all before them, in hexadecimal digits.
SEAL = b"0" * 64


def seal(path: Path) -> None:
    """Write the sum of all of a file that ends with SEAL over that, and have it on the disk."""
    with path.open("r+b") as file:
        digest = _sum_before_seal(file)
        file.seek(-len(SEAL), os.SEEK_END)
        file.write(digest)
        file.flush()
        os.fsync(file.fileno())


def is_sealed(path: Path) -> bool:
    """Say whether a file ends with the sum of all that comes before: not a byte of it was changed or lost."""
    with path.open("rb") as file:
        digest = _sum_before_seal(file)
        return file.read() == digest


def _sum_before_seal(file: IO[bytes]) -> bytes:
    left, digest = file.seek(0, os.SEEK_END) - len(SEAL), hashlib.sha256()
    file.seek(0)
    while left > 0:
        piece = file.read(min(CHUNK, left))
        digest.update(piece)
        left -= len(piece)
    return digest.hexdigest().encode()
