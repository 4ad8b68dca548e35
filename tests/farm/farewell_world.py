"""What is in the database, whichever table: for tests of what must be gone from it."""

from __future__ import annotations

from typing import Any

from django.db import connection

from farm.models import Farm
from farm.services.farewell.rows import of_a_farm


def tables_naming_a_farm() -> list[str]:
    """Return every table with a farm column, as the database itself knows them."""
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            columns = {each.name for each in connection.introspection.get_table_description(cursor, table)}
            if "farm_id" in columns:
                found.append(table)
    return found


def rows_of(farm_id: int) -> dict[str, int]:
    """Return how many rows each table has that names the farm, those without any left out; by SQL alone."""
    counted = {}
    with connection.cursor() as cursor:
        for table in tables_naming_a_farm():
            cursor.execute(f'SELECT count(*) FROM "{table}" WHERE farm_id = %s', [farm_id])
            counted[table] = cursor.fetchone()[0]
        cursor.execute(
            "SELECT count(*) FROM farm_change c JOIN farm_historyentry e ON e.id = c.entry_id WHERE e.farm_id = %s",
            [farm_id],
        )
        counted["farm_change"] = cursor.fetchone()[0]
        cursor.execute("SELECT count(*) FROM farm_farm WHERE id = %s", [farm_id])
        counted["farm_farm"] = cursor.fetchone()[0]
    return {table: rows for table, rows in counted.items() if rows}


def whole(farm_id: int) -> dict[str, list[Any]]:
    """Return every column of every row of a farm."""
    found = {
        model.__name__: list(model._base_manager.filter(**{path: farm_id}).order_by("pk").values_list())
        for model, path in of_a_farm().items()
    }
    return found | {"Farm": list(Farm.objects.filter(pk=farm_id).values_list())}


def saying(*words: str) -> list[str]:
    """Return `table.column` of every column in the whole database that says one of the words, in whatever case."""
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f'SELECT * FROM "{table}"')
            columns = [each[0] for each in cursor.description or ()]
            for row in cursor.fetchall():
                for column, value in zip(columns, row, strict=True):
                    text = _text(value).casefold()
                    if any(word.casefold() in text for word in words):
                        found.append(f"{table}.{column}")
    return sorted(set(found))


def _text(value: Any) -> str:
    if isinstance(value, bytes | memoryview):
        return bytes(value).decode("utf-8", "replace")
    return str(value)
