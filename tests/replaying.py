"""The small world made once a process by the services, and from then on by the rows they wrote.

Thousands of tests begin with the same farm; making it anew through the services took a third of their time. The same
statements make the same rows as long as numbers begin at 1: on SQLite a rolled back transaction gives its numbers back,
on PostgreSQL the sequences of empty tables are set back. Where another farm is there already, the services make it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.db import connection

Made = TypeVar("Made")
Statement = tuple[str, Any]

_WRITES = ("INSERT", "UPDATE", "DELETE")


class Replay:
    """Remembers what one way of making rows writes. `make` returns numbers; `find` turns them into what tests hold."""

    def __init__(
        self, make: Callable[[], Made], keys: Callable[[Made], Any], find: Callable[[Any], Made]
    ) -> None:
        self.make, self.keys, self.find = make, keys, find
        self.statements: list[Statement] = []
        self.made: Any = None

    def __call__(self) -> Made:
        """Return what `make` makes."""
        if not _fresh():
            return self.make()
        if self.made is not None:
            with connection.cursor() as cursor:
                for sql, values in self.statements:
                    cursor.execute(sql, values)
                    if cursor.description:  # RETURNING: SQLite writes as its rows are read
                        cursor.fetchall()
            return self.find(self.made)
        with connection.execute_wrapper(self._remember):
            made = self.make()
        self.made = self.keys(made)
        return made

    def _remember(self, execute: Callable[..., Any], sql: str, values: Any, many: bool, context: Any) -> Any:
        if sql.startswith(_WRITES):
            assert not many
            self.statements.append((sql, values))
        return execute(sql, values, many, context)


def _fresh() -> bool:
    """Say whether the next rows get the first numbers; PostgreSQL is told to give them."""
    if not connection.in_atomic_block:
        return False
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute(f"SELECT 1 FROM sqlite_sequence WHERE seq > 0 AND ({_ours('name')})")
            return cursor.fetchone() is None
        cursor.execute("SELECT 1 FROM farm_farm UNION ALL SELECT 1 FROM farm_login LIMIT 1")
        if cursor.fetchone() is not None:
            return False
        back = "SELECT setval(quote_ident(sequencename)::regclass, 1, false) FROM pg_sequences WHERE "
        cursor.execute(back + _ours("sequencename"))
    return True


def _ours(column: str) -> str:
    """Return the condition that a name is of one of our tables: without a farm and a login all of them are empty."""
    return " OR ".join(f"{column} LIKE '{app}%'" for app in ("farm_", "calendars_", "api_"))
