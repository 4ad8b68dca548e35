"""System checks: what would go wrong later is said at the start, with what to do about it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connection


@register(Tags.security)
def debug_stays_at_home(app_configs: Sequence[Any] | None, **kwargs: Any) -> list[CheckMessage]:
    """Refuse debug pages, which show settings to anyone, on an address others can reach."""
    if not settings.DEBUG or settings.BIND in ("127.0.0.1", "::1", "localhost"):
        return []
    hint = "Unset FEATHERDAYS_DEBUG, or unset FEATHERDAYS_BIND to answer this machine only."
    return [Error("Debug pages would be open to the network.", hint=hint, id="farm.E001")]


@register(Tags.security)
def data_folder_is_private(app_configs: Sequence[Any] | None, **kwargs: Any) -> list[CheckMessage]:
    """The data folder must be writable, and closed to other users: it holds the key and people's data."""
    if not os.access(settings.DATA, os.W_OK | os.X_OK):
        hint = "Set FEATHERDAYS_DATA to a folder this user may write to."
        return [Error(f"The data folder {settings.DATA} is not writable.", hint=hint, id="farm.E002")]
    if settings.DATA.stat().st_mode & 0o007:
        hint = f"Run: chmod 700 {settings.DATA}"
        return [Warning(f"Other users may look into {settings.DATA}.", hint=hint, id="farm.W001")]
    return []


@register(Tags.security)
def tls_and_address_agree(app_configs: Sequence[Any] | None, **kwargs: Any) -> list[CheckMessage]:
    """https without secure cookies is an open line; secure cookies without https let nobody in."""
    secure = urlsplit(settings.ADDRESS).scheme == "https"
    if secure == settings.TLS:
        return []
    if secure:
        problem, hint = (
            "FEATHERDAYS_ADDRESS is https, but cookies are not kept to TLS.",
            "Set FEATHERDAYS_TLS=1.",
        )
    else:
        problem = "FEATHERDAYS_TLS is on, but FEATHERDAYS_ADDRESS is http."
        hint = "Set FEATHERDAYS_ADDRESS to the https address people use."
    return [Warning(problem, hint=hint, id="farm.W002")]


@register(Tags.database)
def sqlite_lets_two_people_write(
    app_configs: Sequence[Any] | None, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """SQLite must be in WAL with immediate transactions, or people reading and writing at once get errors."""
    if connection.vendor != "sqlite" or "default" not in (databases or ()):
        return []
    found: list[CheckMessage] = []
    with connection.cursor() as cursor:
        mode = cursor.execute("PRAGMA journal_mode").fetchone()[0]
    if mode not in ("wal", "memory"):
        hint = "Put the data folder on a local disk: network shares can't hold a write-ahead log."
        found.append(Error(f"SQLite keeps its journal as {mode!r}, not in WAL.", hint=hint, id="farm.E003"))
    if settings.DATABASES["default"]["OPTIONS"].get("transaction_mode") != "IMMEDIATE":
        hint = "Use the settings that farm/settings/database.py makes."
        found.append(Error("SQLite transactions do not begin IMMEDIATE.", hint=hint, id="farm.E004"))
    return found
