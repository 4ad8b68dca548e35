"""A backup file is read again from the disk: every part's sum, and a database that is whole with all its rows."""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from farm.services.backups import manifest, postgres, sqlite
from farm.services.backups.manifest import Manifest
from farm.services.backups.trouble import BackupTrouble

DATABASES = {"sqlite": sqlite.PART, "postgresql": postgres.PART}
MEDIA, SECRETS = "media/", "secrets/"


def verify(path: Path) -> Manifest:
    """Return what a backup says of itself, having checked all of it. Raises BackupTrouble for one that is not whole."""
    with TemporaryDirectory(prefix=".checking-", dir=path.parent) as work:
        return unpacked(path, Path(work))


def unpacked(path: Path, into: Path) -> Manifest:
    """Check a backup and leave its parts in the folder `into`. Raises BackupTrouble for one that is not whole."""
    if not manifest.is_sealed(path):
        raise BackupTrouble(f"{path} is damaged or no backup of Featherdays: it is not what was written.")
    with _opened(path) as archive:
        octets = archive.read(manifest.NAME)
        about = manifest.read(octets)
        parts = set(archive.namelist()) - {manifest.NAME}
        if parts != set(about.sums) or DATABASES.get(about.vendor) not in parts:
            raise BackupTrouble("This backup is not whole: it lacks parts that its manifest names.")
        for name in sorted(parts):
            if manifest.copied_file(archive, name, _place(into, name)) != about.sums[name]:
                raise BackupTrouble(f"This backup is damaged: {name} is not what was written.")
    judge = sqlite.judge if about.vendor == "sqlite" else postgres.judge
    if judge(into / DATABASES[about.vendor]) != about.tables:
        raise BackupTrouble("This backup is damaged: its database has not the rows that were written.")
    return about


def _place(into: Path, name: str) -> Path:
    """Return where a part is put. Raises BackupTrouble for a name that leads out of the folder, or to no part."""
    known = name in DATABASES.values() or name.startswith((MEDIA, SECRETS))
    place = (into / name).resolve()
    if not known or into.resolve() not in place.parents or place.exists():
        raise BackupTrouble(f"This is no backup of Featherdays: it holds {name!r}.")
    place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    return place


@contextmanager
def _opened(path: Path) -> Iterator[zipfile.ZipFile]:
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError, NotImplementedError) as error:
        raise BackupTrouble(f"{path} is damaged or no backup of Featherdays ({error}).") from error
