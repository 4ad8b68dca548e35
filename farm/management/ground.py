"""What must hold before the processes start: a data folder of one's own, a free port, static files."""

from __future__ import annotations

import errno
import fcntl
import os
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import CommandError


@contextmanager
def alone(data: Path) -> Iterator[None]:
    """Hold the data folder for one start at a time: two workers or beats on it would do everything twice.

    CommandError names the process that already has it. The lock goes with the process, however it ends.
    """
    handle = os.open(data / "running", os.O_RDWR | os.O_CREAT, 0o600)
    with os.fdopen(handle, "r+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            other = file.read().strip() or "unknown"
            raise CommandError(
                f"Featherdays already runs on {data} (process {other}). "
                "Stop that one first, or choose another folder with --data."
            ) from error
        file.truncate()
        file.write(str(os.getpid()))
        file.flush()
        yield


def among(data: Path) -> None:
    """Hold the data folder together with other single processes, but not beside a whole `start` or a restore.

    CommandError names the process that has it alone. The lock stays through the program this process becomes.
    """
    handle = os.open(data / "running", os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except OSError as error:
        other = os.read(handle, 20).decode().strip() or "unknown"
        os.close(handle)
        raise CommandError(
            f"Featherdays already runs on {data} (process {other}). Stop that one first."
        ) from error
    os.set_inheritable(handle, True)


def port_is_free(bind: str, port: int) -> None:
    """Return when the port can be listened on; CommandError says what to do otherwise."""
    family = socket.AF_INET6 if ":" in bind else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((bind.strip("[]"), port))
        except OSError as error:
            raise CommandError(_why_not(bind, port, error)) from error


def _why_not(bind: str, port: int, error: OSError) -> str:
    if error.errno == errno.EADDRINUSE:
        return f"Port {port} is taken by another program. Choose another one: --port {min(port + 1, 65535)}"
    if error.errno == errno.EACCES:
        return f"This user may not open port {port}. Choose one above 1023: --port 8000"
    return f"{bind} is not an address of this machine ({error.strerror}). Correct FEATHERDAYS_BIND."


def static_files_are_stale() -> bool:
    """Tell whether any source file is newer than the last collection, or none was made yet."""
    manifest = Path(settings.STATIC_ROOT) / "staticfiles.json"
    if not manifest.exists():
        return True
    collected = manifest.stat().st_mtime
    return any(
        Path(storage.path(name)).stat().st_mtime > collected
        for finder in get_finders()
        for name, storage in finder.list([])
    )
