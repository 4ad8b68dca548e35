"""A SQLite database copied while others write, judged by itself, and put in the place of another."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from farm.services.backups.trouble import BackupTrouble

PART = "database.sqlite3"


def copy(source: Path, target: Path) -> dict[str, int]:
    """Copy a database as it is at one moment and return the rows of each table in the copy.

    One step of SQLite's own backup: with WAL it reads beside whoever writes, and nobody waits.
    """
    live = sqlite3.connect(f"file:{source}?mode=ro", uri=True, timeout=60)
    with closing(live), closing(sqlite3.connect(target)) as taken:
        live.backup(taken)
        taken.execute("PRAGMA journal_mode=DELETE")  # one file, with nothing beside it
    os.chmod(target, 0o600)
    return judge(target)


def judge(path: Path) -> dict[str, int]:
    """Return the rows of each table of a database file that is whole. Raises BackupTrouble for one that is not."""
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)) as link:
            faults = [row[0] for row in link.execute("PRAGMA integrity_check(5)") if row[0] != "ok"]
            if not faults:
                faults = [str(row) for row in link.execute("PRAGMA foreign_key_check").fetchmany(5)]
            if faults:
                raise BackupTrouble(f"The database in it is damaged: {'; '.join(faults)}")
            names = link.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
            ).fetchall()
            return {
                name: link.execute(f'SELECT COUNT(*) FROM "{name}"').fetchone()[0]
                for (name,) in sorted(names)
            }
    except sqlite3.DatabaseError as error:
        raise BackupTrouble(f"The database in it can't be read: {error}") from error


def is_empty(path: Path) -> bool:
    """Say whether a database holds no farm and no login, or is not there."""
    if not path.exists():
        return True
    with closing(sqlite3.connect(path, timeout=60)) as link:
        tables = {row[0] for row in link.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        return not any(
            link.execute(f"SELECT EXISTS (SELECT 1 FROM {table})").fetchone()[0]
            for table in ("farm_farm", "farm_login")
            if table in tables
        )


def put_aside(path: Path, stamp: str) -> Path | None:
    """Move a database away, whole in one file, and return where it is; None without one."""
    if not path.exists():
        return None
    with closing(sqlite3.connect(path, timeout=60)) as link:
        link.execute("PRAGMA journal_mode=DELETE")  # takes what waits beside it into the file
    aside = path.with_name(f"{path.name}.before-{stamp}")
    path.rename(aside)
    return aside
