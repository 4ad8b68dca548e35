"""Takes numbers for rows from the database before the rows are there, so that every mention of them is right at once.

On PostgreSQL they come from the table's sequence, which gives none twice; on SQLite from its counter, which nobody
else reads while this transaction holds the one lock there is.
"""

from __future__ import annotations

from django.db import connection, models


def reserve(model: type[models.Model], count: int) -> list[int]:
    """Return `count` new numbers of a model, rising. Must be called inside a transaction."""
    assert connection.in_atomic_block, "numbers are reserved inside a transaction"
    if count == 0:
        return []
    table = model._meta.db_table
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT nextval(pg_get_serial_sequence(%s, 'id')) FROM generate_series(1, %s)", [table, count]
            )
            return sorted(number for (number,) in cursor.fetchall())
        cursor.execute("SELECT seq FROM sqlite_sequence WHERE name = %s", [table])
        known = cursor.fetchone()
        last = known[0] if known else 0
        if known:
            cursor.execute("UPDATE sqlite_sequence SET seq = %s WHERE name = %s", [last + count, table])
        else:
            cursor.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", [table, count])
    return list(range(last + 1, last + count + 1))
