"""Signs of life that one process leaves and another reads: in Redis where there is one, else in the data folder.

They are where the broker is: whoever shares the broker shares them. None is worth a table, and losing one does no harm.
"""

from __future__ import annotations

import os
import re
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.core.cache import cache
from redis.exceptions import RedisError

_NAME = re.compile(r"[a-z-]{1,30}")
#: A sign older than this is no longer worth telling. Seconds; project default (judgement)
KEPT = 7 * 24 * 3600


def leave(name: str, now: datetime) -> None:
    """Note that `name` was at work at this instant."""
    if settings.MANY_MACHINES:
        cache.set(_key(name), now.timestamp(), KEPT)
        return
    path = _path(name)
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    path.touch(mode=0o600)
    os.utime(path, (now.timestamp(), now.timestamp()))


def last(name: str) -> datetime | None:
    """Return when `name` last left its sign; None when it never did, or what holds it does not answer."""
    try:
        found = cache.get(_key(name)) if settings.MANY_MACHINES else _path(name).stat().st_mtime
    except (OSError, RedisError):
        return None
    return None if found is None else datetime.fromtimestamp(found, UTC)


def _key(name: str) -> str:
    if not _NAME.fullmatch(name):
        raise ValueError(f"{name!r} is no name of a sign")
    return f"sign:{name}"


def _path(name: str) -> Path:
    return Path(settings.DATA) / "signs" / _key(name).removeprefix("sign:")
