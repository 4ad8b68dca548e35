"""The folder of backups: what lies in it, what is kept of it, and how old the last one is.

A file is there only once it was checked, so what lies in the folder under our name was good when it was written.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from django.conf import settings

_NAME = re.compile(r"featherdays-(\d{8}T\d{6})Z\.zip")
_STAMP = "%Y%m%dT%H%M%S"


@dataclass(frozen=True, slots=True)
class Backup:
    """One file in the folder. made_at: UTC, to the second."""

    path: Path
    made_at: datetime
    size: int

    def age(self, now: datetime) -> timedelta:
        """Return how long ago it was made."""
        return now - self.made_at


@dataclass(frozen=True, slots=True)
class Keeping:
    """How many are kept: the last of each of so many days, ISO weeks and months in which any was made.

    Defaults: project default (judgement).
    """

    daily: int = 7
    weekly: int = 4
    monthly: int = 6


def folder_or_none() -> Path | None:
    """Return the folder for backups that the settings name, None when they are switched off."""
    return Path(settings.BACKUPS) if settings.BACKUPS else None


def name_for(now: datetime) -> str:
    """Return how a backup made at `now` is called."""
    return f"featherdays-{now.astimezone(UTC).strftime(_STAMP)}Z.zip"


def found(folder: Path) -> list[Backup]:
    """Return the backups in a folder, newest first; files by other names are not looked at."""
    named = ((path, _NAME.fullmatch(path.name)) for path in folder.glob("featherdays-*.zip"))
    return sorted(
        (
            Backup(path, datetime.strptime(name[1], _STAMP).replace(tzinfo=UTC), path.stat().st_size)
            for path, name in named
            if name
        ),
        key=lambda one: one.made_at,
        reverse=True,
    )


def last_made() -> Backup | None:
    """Return the last good backup in the settings' folder, None without one."""
    folder = folder_or_none()
    return next(iter(found(folder)), None) if folder is not None else None


def rotate(folder: Path, keeping: Keeping) -> list[Path]:
    """Remove backups that are kept for no day, week or month, and return which; the newest always stays."""
    backups = found(folder)
    kept = {one.path for one in backups[:1]}
    kept |= _last_of_each(backups, "%Y-%m-%d", keeping.daily)
    kept |= _last_of_each(backups, "%G-%V", keeping.weekly)
    kept |= _last_of_each(backups, "%Y-%m", keeping.monthly)
    gone = [one.path for one in backups if one.path not in kept]
    for path in gone:
        path.unlink()
    return gone


def _last_of_each(backups: Iterable[Backup], period: str, most: int) -> set[Path]:
    """Return the last backup of each of the newest `most` periods; `backups` come newest first."""
    last: dict[str, Path] = {}
    for one in backups:
        last.setdefault(one.made_at.strftime(period), one.path)
    return set(list(last.values())[:most])
