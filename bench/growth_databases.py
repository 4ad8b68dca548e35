"""The databases a growing number of farms is measured in: named, kept for the day, made again on another.

Invented farms are dated from the day they are made; farms of different days would not be asked for the same.
"""

from __future__ import annotations

import json
import os
import secrets
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

SERVER = os.environ.get("FEATHERDAYS_TEST_POSTGRES") or "postgres://postgres@127.0.0.1:5432/postgres"
REDIS = os.environ.get("FEATHERDAYS_TEST_REDIS") or "redis://127.0.0.1:6379/15"
NAME = "featherdays_bench_growth_{farms}"
ROOT = Path(__file__).resolve().parents[1]


def missing() -> str:
    """Return what lacks for measuring, "" when both servers answer."""
    import psycopg
    import redis

    try:
        psycopg.connect(SERVER, connect_timeout=3).close()
        redis.from_url(REDIS, socket_connect_timeout=3).ping()
    except (psycopg.Error, redis.RedisError, OSError) as error:
        return f"PostgreSQL or Redis: {error}"
    return ""


@contextmanager
def environment() -> Iterator[dict[str, str]]:
    """Yield the variables all processes of a measurement share, but for the database."""
    with tempfile.TemporaryDirectory(prefix="featherdays-bench-") as folder:
        kept = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith(("FEATHERDAYS_", "EMAIL_"))
        }
        yield kept | {
            "FEATHERDAYS_DATA": folder,
            "FEATHERDAYS_SECRET_KEY": secrets.token_urlsafe(50),
            "FEATHERDAYS_LOG": "ERROR",
            "REDIS_URL": REDIS,
        }


def address(farms: int) -> str:
    """Return the DATABASE_URL of the database with so many farms."""
    return urlunsplit(urlsplit(SERVER)._replace(path="/" + NAME.format(farms=farms)))


def prepare(farms: int, variables: Mapping[str, str]) -> dict[str, Any]:
    """Make the database of so many farms ready, and return what `growth_farm` says of it."""
    _anew_unless_of_today(farms)
    command = [sys.executable, "-m", "bench.growth_farm", str(farms)]
    env = {**variables, "DATABASE_URL": address(farms)}
    done = subprocess.run(command, cwd=ROOT, env=env, check=True, stdout=subprocess.PIPE, text=True)
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


def _anew_unless_of_today(farms: int) -> None:
    import psycopg
    from psycopg import sql

    name = sql.Identifier(NAME.format(farms=farms))
    with psycopg.connect(SERVER, autocommit=True) as server:
        if _is_of_today(farms):
            return
        server.execute(sql.SQL("DROP DATABASE IF EXISTS {}").format(name))
        server.execute(sql.SQL("CREATE DATABASE {}").format(name))


def _is_of_today(farms: int) -> bool:
    import psycopg

    try:
        with psycopg.connect(address(farms)) as found:
            row = found.execute("SELECT bool_and(created_at::date = current_date) FROM farm_farm").fetchone()
    except (psycopg.OperationalError, psycopg.errors.UndefinedTable):
        return False  # there is none, or it was left half made
    return bool(row and row[0])
