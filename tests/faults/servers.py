"""A PostgreSQL and a Redis of a test's own, to be killed, frozen and emptied; neither outlives the test."""

from __future__ import annotations

import ctypes
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

REQUIRED = os.environ.get("REQUIRE_SERVICES") == "1"


def lacking(what: str) -> Any:
    """Skip for want of a program, or fail where everything must be there."""
    if REQUIRED:
        pytest.fail(f"{what}, and REQUIRE_SERVICES=1")
    pytest.skip(what)


def until(holds: Callable[[], object], seconds: float = 60, step: float = 0.05) -> float:
    """Wait until it holds and return how many seconds that took."""
    begun = time.monotonic()
    while not holds():
        assert time.monotonic() - begun < seconds, "it never came to that"
        time.sleep(step)
    return time.monotonic() - begun


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def end_with_parent() -> None:
    """Have a child killed when the test run is."""
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).prctl(1, signal.SIGKILL)


def end(process: subprocess.Popen[bytes]) -> None:
    """Kill a process, frozen or not, if it still lives."""
    if process.poll() is None:
        process.kill()
        process.wait(10)


class Redis:
    """A Redis server on a free port, keeping nothing on disk."""

    def __init__(self, program: str, folder: Path) -> None:
        self.command = [
            program,
            "--save",
            "",
            "--appendonly",
            "no",
            "--dir",
            str(folder),
            "--bind",
            "127.0.0.1",
        ]
        self.port = free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self.start()

    def start(self) -> None:
        command = [*self.command, "--port", str(self.port)]
        quiet = subprocess.DEVNULL
        self.process = subprocess.Popen(command, stdout=quiet, stderr=quiet, preexec_fn=end_with_parent)
        until(self.answers, 10)

    def answers(self) -> bool:
        with socket.socket() as link:
            return link.connect_ex(("127.0.0.1", self.port)) == 0

    def kill(self) -> None:
        end(self.process)

    def freeze(self) -> None:
        self.process.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        self.process.send_signal(signal.SIGCONT)

    def client(self) -> Any:
        import redis

        return redis.from_url(self.url)


@contextmanager
def redis_server(folder: Path) -> Iterator[Redis]:
    program = shutil.which("redis-server") or lacking("no redis-server is installed")
    server = Redis(program, folder)
    try:
        yield server
    finally:
        end(server.process)


class Postgres:
    """A PostgreSQL cluster on a free port; fsync is on, as it is where it matters."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.port = folder, free_port()
        self.url = f"postgres://postgres@127.0.0.1:{self.port}/postgres"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        options = {"port": self.port, "listen_addresses": "127.0.0.1", "unix_socket_directories": self.folder}
        small = {"fsync": "on", "shared_buffers": "32MB", "max_connections": 40, "logging_collector": "off"}
        command = [_postgres("postgres"), "-D", str(self.folder / "data")]
        for name, value in (options | small).items():
            command += ["-c", f"{name}={value}"]
        with (self.folder / "server.log").open("ab") as said:
            self.process = subprocess.Popen(
                command,
                stdout=said,
                stderr=said,
                preexec_fn=end_with_parent,
                cwd=self.folder,
                **_nobody_else(),
            )
        until(self.answers, 30)

    def answers(self) -> bool:
        import psycopg

        with suppress(psycopg.Error):
            psycopg.connect(self.url, connect_timeout=2).close()
            return True
        return False

    def stop(self, number: int) -> None:
        """End it: SIGINT in good order, SIGQUIT at once, as `pg_ctl stop -m immediate` does."""
        assert self.process is not None
        self.process.send_signal(number)
        self.process.wait(30)


def new_cluster(folder: Path) -> Postgres:
    """Make an empty cluster in `folder`, which is the database's own."""
    folder.mkdir(mode=0o700)
    _give(folder)
    command = [_postgres("initdb"), "-D", str(folder / "data"), "-U", "postgres", "-A", "trust", "--no-sync"]
    more = ["--encoding=UTF8", "--locale=C.UTF-8"]
    subprocess.run([*command, *more], check=True, capture_output=True, cwd=folder, **_nobody_else())
    return Postgres(folder)


@contextmanager
def copied_cluster(model: Path) -> Iterator[Postgres]:
    """Run a copy of a cluster that was stopped in good order."""
    # Below the system's own folder: what pytest makes is closed to the database's user.
    with tempfile.TemporaryDirectory(prefix="featherdays-fault-") as place:
        folder = Path(place) / "postgres"
        Path(place).chmod(0o711)
        subprocess.run(["cp", "-a", str(model), str(folder)], check=True)
        server = Postgres(folder)
        try:
            server.start()
            yield server
        finally:
            if server.process is not None and server.process.poll() is None:
                server.process.send_signal(signal.SIGQUIT)
                server.process.wait(30)


def _postgres(program: str) -> str:
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{program}"), key=lambda path: int(path.parts[4]))
    return (
        str(found[-1])
        if found
        else shutil.which(program) or lacking(f"no {program} of PostgreSQL is installed")
    )


def _nobody_else() -> dict[str, Any]:
    """Return whom to be: PostgreSQL refuses to run as root."""
    return {"user": "postgres", "group": "postgres", "extra_groups": []} if os.geteuid() == 0 else {}


def _give(folder: Path) -> None:
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres", "postgres")
