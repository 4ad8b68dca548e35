"""Real processes for tests of how they start and stop."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
KEPT = {each: os.environ[each] for each in ("PATH", "HOME", "LANG") if each in os.environ}


def wait_until(holds, seconds=40):
    deadline = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < deadline, "it took too long"
        time.sleep(0.05)


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def listens(port):
    with socket.socket() as link:
        return link.connect_ex(("127.0.0.1", port)) == 0


@contextmanager
def processes_on(folder: Path) -> Iterator:
    """Give a function that starts a command on a data folder of its own; whatever runs at the end is killed."""
    running = []
    base = KEPT | {"FEATHERDAYS_DATA": str(folder / "data"), "DJANGO_SETTINGS_MODULE": "farm.settings"}

    def start(command, **variables):
        log = (folder / "log").open("a")
        running.append(subprocess.Popen(command, cwd=ROOT, env=base | variables, stdout=log, stderr=log))
        return running[-1]

    def run(code, *arguments, **variables):
        command = [sys.executable, "-c", code, *map(str, arguments)]
        done = subprocess.run(
            command, cwd=ROOT, env=base | variables, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        return done.stdout.strip()

    start.run, start.log = run, lambda: (folder / "log").read_text()
    yield start
    for process in running:
        if process.poll() is None:
            process.kill()
            process.wait(10)
