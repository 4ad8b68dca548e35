"""A backup is written under another name, read again, and only then called a backup."""

from __future__ import annotations

import fcntl
import logging
import os
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from farm.services.backups import folder as folders
from farm.services.backups import manifest, postgres, sqlite, verifying
from farm.services.backups.folder import Backup, Keeping
from farm.services.backups.manifest import Manifest
from farm.services.backups.trouble import BackupTrouble

log = logging.getLogger(__name__)

DUE_AFTER = timedelta(hours=23)  # the job looks hourly; project default (judgement)
#: Files of the data folder without which sealed addresses and sessions cannot be read again.
KEYS = ("secret_key", "push_key")
_DRAFTS = ".making-"


def make_if_due(*, now: datetime) -> Backup | None:
    """Make a backup in the settings' folder when the last one is a day old, and tidy up; None when there was no need.

    Raises BackupTrouble.
    """
    folder = folders.folder_or_none()
    if folder is None:
        return None
    last = folders.last_made()
    if last is not None and timedelta() <= last.age(now) < DUE_AFTER:
        return None
    made = make(folder, now=now)
    folders.rotate(folder, Keeping())
    return made


def make(folder: Path, *, now: datetime) -> Backup:
    """Write a backup into a folder, check it, and return it. Raises BackupTrouble; nothing half is left behind."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        return _made(folder, now)
    except OSError as error:
        raise BackupTrouble(f"The backup could not be written: {error}") from error


def _made(folder: Path, now: datetime) -> Backup:
    target = folder / folders.name_for(now)
    with _alone(folder), TemporaryDirectory(prefix=_DRAFTS, dir=folder) as work:
        if target.exists():
            raise BackupTrouble(f"{target} is there already. Wait a second and try again.")
        draft = Path(work) / target.name
        _write(draft, Path(work), now)
        verifying.verify(draft)
        os.replace(draft, target)
        _to_disk(folder)
    log.info("backup %s written and checked", target)
    return Backup(target, now.replace(microsecond=0), target.stat().st_size)


def _write(draft: Path, work: Path, now: datetime) -> None:
    database = work / verifying.DATABASES[connection.vendor]
    tables = _taken(database)
    about = Manifest(
        vendor=connection.vendor,
        made_at=now.isoformat(),
        tables=tables,
        migrations=sorted(MigrationRecorder(connection).applied_migrations()),
    )
    draft.touch(mode=0o600)
    with zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for name, path in _parts(database):
            with path.open("rb") as source, archive.open(name, "w", force_zip64=True) as part:
                about.sums[name] = manifest.copied(source, part.write)
        archive.writestr(manifest.NAME, about.octets())
        archive.comment = manifest.SEAL
    manifest.seal(draft)
    database.unlink()


def _taken(database: Path) -> dict[str, int]:
    if connection.vendor == "sqlite":
        return sqlite.copy(Path(connection.settings_dict["NAME"]), database)
    return postgres.dump(database)


def _parts(database: Path) -> Iterator[tuple[str, Path]]:
    """Yield the parts of the backup: the database, files people sent, and the keys kept in the data folder."""
    yield database.name, database
    media = Path(settings.MEDIA_ROOT)
    for path in sorted(media.rglob("*")):
        if path.is_file() and not path.is_symlink():
            yield verifying.MEDIA + path.relative_to(media).as_posix(), path
    for name in KEYS:
        path = Path(settings.DATA) / name
        if path.is_file():
            yield verifying.SECRETS + name, path


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Hold the folder for one backup at a time. Raises BackupTrouble while another is being made."""
    handle = os.open(folder / ".lock", os.O_RDWR | os.O_CREAT, 0o600)
    with os.fdopen(handle, "r+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise BackupTrouble(f"Another backup is being written to {folder}.") from error
        for left in folder.glob(f"{_DRAFTS}*"):  # of one that was killed
            shutil.rmtree(left)
        yield


def _to_disk(folder: Path) -> None:
    """Have a folder's names on the disk, so that a renamed file outlives a power cut."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
