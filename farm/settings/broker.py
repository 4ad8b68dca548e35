"""REDIS_URL to Celery's settings; without it background jobs travel through files in the data folder."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from kombu import Exchange, Queue

from farm.settings.env import SettingError

FIX = "Write redis://host:6379/0, or rediss:// for TLS, or leave it out to use the in-machine broker."
JOB_HOURS = 6
# A page must answer when the broker is away: give up at once, the nightly sweep repairs.
GIVE_UP_EARLY = {"max_retries": 1, "interval_start": 0, "interval_step": 0.1, "interval_max": 0.2}


def broker(url: str, data: Path) -> dict[str, Any]:
    """Return `{"url": …, "options": …}` for Celery; SettingError when REDIS_URL is not one."""
    if not url:
        return in_machine(data / "broker")
    try:
        parts = urlsplit(url)
        _ = parts.port
    except ValueError as error:
        raise SettingError("REDIS_URL", "has a host or port that can't be read", FIX) from error
    if parts.scheme not in ("redis", "rediss") or not parts.hostname:
        raise SettingError("REDIS_URL", "is not the address of a Redis server", FIX)
    options = GIVE_UP_EARLY | {
        "visibility_timeout": JOB_HOURS * 3600,
        "socket_connect_timeout": 2,
        "socket_timeout": 4,
        "socket_keepalive": True,
    }
    return {"url": url, "options": options}


def queues(*names: str) -> list[Queue]:
    """Return queues beside each other: workers take from them in turn, whichever is longer."""
    exchange = Exchange(names[0])
    return [Queue(name, exchange, routing_key=name) for name in names]


def in_machine(folder: Path) -> dict[str, Any]:
    """Return the file broker's settings: `spool://` is the transport in tasks/spool.py, one machine only."""
    options = GIVE_UP_EARLY | {
        "data_folder_in": str(folder / "messages"),
        "data_folder_out": str(folder / "messages"),
        "processed_folder": str(folder / "taken"),
        "control_folder": str(folder / "exchanges"),
        "polling_interval": 0.5,
    }
    return {"url": "spool://localhost//", "options": options}
