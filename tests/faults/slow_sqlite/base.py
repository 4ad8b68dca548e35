"""A database backend for tests: every commit holds the write lock for as long as a bad disk needs for it."""

from __future__ import annotations

import time

from django.db.backends.sqlite3 import base

COMMIT_SECONDS = 0.6


class DatabaseWrapper(base.DatabaseWrapper):
    """SQLite whose commits are slow."""

    def _commit(self) -> None:
        time.sleep(COMMIT_SECONDS)
        super()._commit()
