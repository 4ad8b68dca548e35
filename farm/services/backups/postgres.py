"""A PostgreSQL database dumped and restored by PostgreSQL's own programs; the password stands on no command line."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.db import connection, transaction

from farm.services.backups.trouble import BackupTrouble

PART = "database.dump"
ASIDE = "featherdays_before_"  # what a schema that was replaced is called, with the moment behind it
#: Restored under whatever role is there; comments belong to whoever owns the extension.
_BARE = ("--no-owner", "--no-privileges", "--no-comments")
_COPY = re.compile(rb'COPY (?:"?[^ ".]+"?\.)?"?([^ ".(]+)"? ')


def dump(target: Path) -> dict[str, int]:
    """Dump the database as it is at one moment and return the rows of each table at that very moment."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        cursor.execute("SELECT pg_export_snapshot()")
        snapshot = cursor.fetchone()[0]
        counted = _counted(cursor)
        _run(
            "pg_dump",
            *("--format=custom", *_BARE, f"--snapshot={snapshot}"),
            *(f"--exclude-schema={ASIDE}*", f"--file={target}", _name()),
        )
    os.chmod(target, 0o600)
    return counted


def judge(path: Path) -> dict[str, int]:
    """Return the rows of each table in a dump, having read all of it. Raises BackupTrouble for one that is damaged."""
    _run("pg_restore", "--list", str(path))
    counted: dict[str, int] = {}
    with _reading("pg_restore", "--data-only", "--file=-", str(path)) as lines:
        table = ""
        for line in lines:
            if table:
                if line == b"\\.\n":
                    table = ""
                else:
                    counted[table] += 1
            elif found := _COPY.match(line):
                table = found[1].decode()
                counted[table] = 0
    return counted


def is_empty() -> bool:
    """Say whether the database holds no farm and no login."""
    there = connection.introspection.table_names()
    with connection.cursor() as cursor:
        for table in {"farm_farm", "farm_login"} & set(there):
            cursor.execute(f"SELECT EXISTS (SELECT 1 FROM {table})")
            if cursor.fetchone()[0]:
                return False
    return True


def others() -> int:
    """Return how many other programs are connected to the database."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
            " AND backend_type = 'client backend'"
        )
        return int(cursor.fetchone()[0])


def replace(path: Path, stamp: str) -> str:
    """Restore a dump in the place of what is there, which stays in a schema of its own; return how that is called.

    Whatever goes wrong, what was there is there again.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_schema()")
        schema, aside = cursor.fetchone()[0], f"{ASIDE}{stamp.lower()}"
        with transaction.atomic():
            cursor.execute(f'ALTER SCHEMA "{schema}" RENAME TO "{aside}"')
            cursor.execute(f'CREATE SCHEMA "{schema}"')
            _bring_extension(cursor, schema)
    connection.close()
    try:
        _run(
            "pg_restore",
            *(*_BARE, "--exit-on-error", "--single-transaction"),
            *(f"--dbname={_name()}", str(path)),
        )
    except BackupTrouble:
        with transaction.atomic(), connection.cursor() as cursor:
            _bring_extension(cursor, aside)
            cursor.execute(f'DROP SCHEMA "{schema}" CASCADE')
            cursor.execute(f'ALTER SCHEMA "{aside}" RENAME TO "{schema}"')
        raise
    return aside


def _bring_extension(cursor: Any, schema: str) -> None:
    """Have the one extension in a schema: both the old tables and the new ones lean on it, wherever it is."""
    cursor.execute("SELECT 1 FROM pg_extension WHERE extname = 'btree_gist'")
    if cursor.fetchone():
        cursor.execute(f'ALTER EXTENSION btree_gist SET SCHEMA "{schema}"')


def _counted(cursor: Any) -> dict[str, int]:
    counted = {}
    for table in sorted(connection.introspection.table_names(cursor)):
        cursor.execute(f'SELECT count(*) FROM "{table}"')
        counted[table] = int(cursor.fetchone()[0])
    return counted


def _name() -> str:
    return str(connection.settings_dict["NAME"])


def _run(program: str, *arguments: str) -> None:
    done = subprocess.run(
        [_program(program), *arguments], env=_for_libpq(), capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise BackupTrouble(f"{program} failed: {done.stderr.strip() or f'exit code {done.returncode}'}")


@contextmanager
def _reading(program: str, *arguments: str) -> Iterator[Iterator[bytes]]:
    """Run a program and yield the lines it writes. Raises BackupTrouble afterwards when it failed."""
    command = [_program(program), *arguments]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL}
    with subprocess.Popen(command, env=_for_libpq(), **pipes) as running:  # type: ignore[call-overload]
        yield running.stdout
    if running.returncode:
        raise BackupTrouble(f"{program} can't read the dump to its end (exit code {running.returncode})")


def _program(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        raise BackupTrouble(
            f"The program {name} is not installed here. Install PostgreSQL's client programs, of the server's"
            " version or newer (Debian: postgresql-client)."
        )
    return found


def _for_libpq() -> dict[str, str]:
    """Return what the programs need to find the server, as libpq names it."""
    known = connection.settings_dict
    named = {
        "PGHOST": known["HOST"],
        "PGPORT": known["PORT"],
        "PGUSER": known["USER"],
        "PGPASSWORD": known["PASSWORD"],
    }
    named |= {_LIBPQ[name]: value for name, value in known["OPTIONS"].items() if name in _LIBPQ}
    home = {"PATH": os.defpath, "HOME": str(Path.home())}  # where the password file and certificates are
    return home | {name: str(value) for name, value in named.items() if value}


_LIBPQ = {
    "sslmode": "PGSSLMODE",
    "sslrootcert": "PGSSLROOTCERT",
    "sslcert": "PGSSLCERT",
    "sslkey": "PGSSLKEY",
    "connect_timeout": "PGCONNECT_TIMEOUT",
}
