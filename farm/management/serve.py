"""The pages as one process: `python -m farm.management.serve`. Told to stop, it first answers what it was asked.

waitress alone drops what it is working on. Here SIGTERM and SIGINT close the door for new connections, and the process
ends when nothing is left to answer or FEATHERDAYS_STOP_SECONDS are over.
"""

from __future__ import annotations

import signal
import socket
import threading
import time
from typing import Any

import waitress
from waitress.server import BaseWSGIServer, MultiSocketServer

LOOK_SECONDS = 0.05


def options() -> dict[str, Any]:
    """Return waitress's options from the settings."""
    from django.conf import settings

    host = f"[{settings.BIND}]" if ":" in settings.BIND else settings.BIND
    found: dict[str, Any] = {"listen": f"{host}:{settings.PORT}", "threads": settings.THREADS}
    # More than any page takes (`farm.web.bodies`) is not even received.
    found["max_request_body_size"] = (settings.ARCHIVE_MB + 2) * 1024 * 1024
    if settings.PROXY:  # its word about scheme and client is believed, from its address alone
        found |= {
            "trusted_proxy": settings.PROXY,
            "trusted_proxy_count": 1,
            "trusted_proxy_headers": "x-forwarded-proto x-forwarded-for",
        }
    return found


def main() -> None:
    """Serve until told to stop."""
    from farm.wsgi import application  # names the settings and loads Django, so it comes first

    told = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: told.set())
    from django.conf import settings

    server = waitress.create_server(application, **options())
    threading.Thread(target=server.run, name="pages", daemon=True).start()
    told.wait()
    finish(server, settings.STOP_SECONDS)


def finish(server: BaseWSGIServer | MultiSocketServer, seconds: float) -> bool:
    """Let nobody new in, and wait for what is being answered; return whether all of it was within `seconds`."""
    until = time.monotonic() + seconds
    doors = _doors(server)
    for door in doors:
        door.accepting = False  # waitress's loop no longer asks this socket
        # Whoever comes now is turned away at once, and goes to another process, instead of waiting in our queue.
        door.socket.shutdown(socket.SHUT_RDWR)
    while sum(_still_talks(door) for door in doors):  # all are asked: each closes what it can
        if time.monotonic() > until:
            return False
        time.sleep(LOOK_SECONDS)
    return True


def _doors(server: BaseWSGIServer | MultiSocketServer) -> list[BaseWSGIServer]:
    found = server.map.values() if isinstance(server, MultiSocketServer) else [server]
    return [each for each in found if isinstance(each, BaseWSGIServer)]


def _still_talks(door: BaseWSGIServer) -> bool:
    """Say whether a connection is open still; one that is kept only for later requests is closed on the way."""
    channels = list(door.active_channels.values())
    for channel in channels:
        if not channel.requests and channel.request is None and not channel.total_outbufs_len:
            channel.will_close = True
    if channels:
        door.pull_trigger()  # wakes the loop, which closes them
    return bool(channels)


if __name__ == "__main__":
    main()
