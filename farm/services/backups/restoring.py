"""A backup takes the place of what is there, which is put aside and not deleted."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings
from django.db import connection, connections
from django.db.migrations.loader import MigrationLoader

from farm.services.backups import postgres, sqlite, verifying
from farm.services.backups.making import KEYS
from farm.services.backups.manifest import Manifest
from farm.services.backups.trouble import BackupTrouble


def restore(path: Path, *, force: bool, now: datetime) -> list[str]:
    """Put a backup in the place of database, pictures and keys, and return a line for each thing that was put aside.

    The caller makes sure that nothing else runs on the data folder, and migrates afterwards. Raises BackupTrouble for a
    file that is not whole, is of another kind of database or a newer version, and, without `force`, when there is a
    farm or a login already; nothing was changed then.
    """
    stamp = now.astimezone(UTC).strftime("%Y%m%dt%H%M%S")
    with TemporaryDirectory(prefix=".restoring-", dir=settings.DATA) as work:
        parts = Path(work)
        about = verifying.unpacked(path, parts)
        _judge(about, force=force)
        said = list(_replace_database(parts / verifying.DATABASES[about.vendor], stamp))
        said += _replace_media(parts / "media", stamp)
        said += _replace_keys(parts / "secrets", stamp)
    return said


def _judge(about: Manifest, *, force: bool) -> None:
    if about.vendor != connection.vendor:
        raise BackupTrouble(
            f"This backup is of {about.vendor}; the settings name a {connection.vendor} database."
        )
    known = MigrationLoader(None).disk_migrations
    ours = {app for app, _name in known}
    if newer := [
        f"{app} {name}" for app, name in about.migrations if app in ours and (app, name) not in known
    ]:
        raise BackupTrouble(
            f"This backup was made by a newer Featherdays ({newer[0]} is not known here). Restore it with that one."
        )
    if connection.vendor == "postgresql" and (others := postgres.others()):
        raise BackupTrouble(f"{others} other programs are connected to the database. Stop them first.")
    if not force and not _is_empty():
        raise BackupTrouble(
            "There are farms or logins in this database. With --force the backup takes their place; they are put"
            " aside, not deleted."
        )


def _is_empty() -> bool:
    if connection.vendor == "postgresql":
        return postgres.is_empty()
    return sqlite.is_empty(_file())


def _file() -> Path:
    return Path(connection.settings_dict["NAME"])


def _replace_database(part: Path, stamp: str) -> Iterator[str]:
    if connection.vendor == "postgresql":
        yield f"What was in the database is in its schema {postgres.replace(part, stamp)}."
        return
    connections.close_all()
    file = _file()
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    draft = _beside(part, file)  # all that may fail for want of room comes before the first name changes
    aside = sqlite.put_aside(file, stamp)
    os.replace(draft, file)
    if aside is not None:
        yield f"The database that was there is {aside}."


def _replace_media(part: Path, stamp: str) -> Iterator[str]:
    media = Path(settings.MEDIA_ROOT)
    if media.exists():
        aside = media.with_name(f"{media.name}.before-{stamp}")
        media.rename(aside)
        yield f"The files that were there are in {aside}."
    if part.exists():
        shutil.move(part, media)


def _replace_keys(part: Path, stamp: str) -> Iterator[str]:
    for name in KEYS:
        given, place = part / name, Path(settings.DATA) / name
        if not given.exists() or (place.exists() and place.read_bytes() == given.read_bytes()):
            continue
        draft = _beside(given, place)
        if place.exists():
            aside = place.with_name(f"{name}.before-{stamp}")
            place.rename(aside)
            yield f"The key that was there is {aside}."
        os.replace(draft, place)


def _beside(source: Path, target: Path) -> Path:
    """Copy a file to where it can be renamed to `target`, its bytes on the disk, and return where that is."""
    draft = target.with_name(f".{target.name}.draft")
    shutil.copyfile(source, draft)
    os.chmod(draft, 0o600)
    with draft.open("rb") as file:
        os.fsync(file.fileno())
    return draft
