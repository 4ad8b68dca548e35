"""A database of its own for a measurement, thrown away afterwards: SQLite in a folder of the system's."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def fresh() -> Iterator[None]:
    """Load Django on an empty database. For a process that has not loaded it yet: its settings are read once.

    Raises RuntimeError when they have been read, because that database would be somebody's.
    """
    from django.conf import settings

    if settings.configured:
        raise RuntimeError("Django is in use in this process; measure in one of its own")
    folder = tempfile.mkdtemp(prefix="featherdays-bench-")
    # Never the data, mail or broker of whoever measures.
    for name in ("DATABASE_URL", "REDIS_URL", "EMAIL_URL"):
        os.environ.pop(name, None)
        os.environ.pop(f"{name}_FILE", None)
    os.environ |= {"FEATHERDAYS_DATA": folder, "DJANGO_SETTINGS_MODULE": "farm.settings"}
    try:
        import django

        django.setup()
        from django.core.management import call_command
        from django.db import connection

        call_command("migrate", verbosity=0)
        yield
        connection.close()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
