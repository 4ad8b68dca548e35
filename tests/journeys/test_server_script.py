"""The one command: what it says when something is in the way, and that Ctrl-C ends all of it."""

import json
import os
import re
import signal
import socket
import stat
import subprocess
import time
import urllib.request
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SCRIPT = ROOT / "script" / "server"


def environment(**variables):
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    return kept | variables


def run(*arguments, **variables):
    return subprocess.run(
        [SCRIPT, *arguments],
        env=environment(**variables),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def fake_python(folder, script):
    path = folder / "python3"
    path.write_text("#!/bin/sh\n" + script)
    path.chmod(0o755)
    return {"PATH": f"{folder}:{os.environ['PATH']}"}


def test_help_names_every_option_and_starts_nothing():
    done = run("--help")
    assert done.returncode == 0
    assert re.findall(r"^  (--\w+)", done.stdout, re.M) == ["--empty", "--port", "--data", "--help"]


@pytest.mark.parametrize(
    "arguments, words",
    [(["--prot", "1"], "--prot is not an option"), (["--port"], "--port needs a value")],
)
def test_a_misspelt_option_is_refused_before_anything_is_installed(arguments, words):
    done = run(*arguments)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == f"featherdays: {words}. See script/server --help\n"


def test_an_old_python_is_refused_with_the_version_it_is_and_the_one_it_should_be(tmp_path):
    old = fake_python(tmp_path, 'case $1 in --version) echo "Python 3.9.2" ;; *) exit 1 ;; esac\n')
    done = run("--data", str(tmp_path / "data"), **old)
    assert done.returncode == 1
    assert done.stderr == (
        "featherdays: Python 3.11 or newer is needed, and python3 is Python 3.9.2. Install a newer Python.\n"
    )
    assert not (tmp_path / "data").exists()


def test_a_python_without_venv_is_refused_with_the_package_to_install(tmp_path):
    bare = fake_python(tmp_path, 'case "$*" in *ensurepip*) exit 1 ;; esac\n')
    done = run("--data", str(tmp_path / "data"), **bare)
    assert done.returncode == 1
    assert "apt install python3-venv" in done.stderr


def test_a_data_folder_that_can_not_be_made_is_one_line_with_the_fix(tmp_path):
    (tmp_path / "file").write_text("in the way")
    done = run("--data", str(tmp_path / "file" / "data"))
    assert done.returncode == 1
    problem = f"FEATHERDAYS_DATA is {tmp_path}/file/data, which can't be made (Not a directory)."
    assert done.stderr == f"featherdays: {problem} Name a folder this user may write to.\n"


def test_a_taken_port_is_one_line_with_another_port_to_try(tmp_path):
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        done = run("--empty", "--data", str(tmp_path / "data"), "--port", str(port))
    assert done.returncode == 1
    assert done.stderr == (
        f"CommandError: Port {port} is taken by another program. Choose another one: --port {port + 1}\n"
    )
    assert not (tmp_path / "data" / "featherdays.sqlite3").exists()


class Server:
    """One running `script/server` in a session of its own, so that a signal to it is Ctrl-C in its terminal."""

    def __init__(self, folder, *arguments):
        self.folder, self.port, self.log = folder, free_port(), folder.with_suffix(".log")
        command = [SCRIPT, "--data", folder, "--port", str(self.port), *arguments]
        with self.log.open("w") as log:
            self.process = subprocess.Popen(
                command,
                env=environment(),
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )

    def text(self):
        return self.log.read_text()

    def until_ready(self, seconds=60):
        deadline = time.monotonic() + seconds
        while "Ctrl-C stops it." not in self.text():
            assert self.process.poll() is None, self.text()
            assert time.monotonic() < deadline, self.text()
            time.sleep(0.1)

    def get(self, path):
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=5) as reply:
            return json.load(reply)

    def members(self):
        """Process ids of the supervisor and its children."""
        rows = subprocess.run(["ps", "-eo", "pid=,ppid="], capture_output=True, text=True, check=True).stdout
        pairs = [tuple(map(int, row.split())) for row in rows.splitlines()]
        return [self.process.pid, *(pid for pid, parent in pairs if parent == self.process.pid)]

    def stop(self, number):
        started = time.monotonic()
        os.killpg(self.process.pid, number)
        code = self.process.wait(15)
        return code, time.monotonic() - started


@pytest.fixture
def start(tmp_path):
    running = []

    def begin(*arguments):
        running.append(Server(tmp_path / "data", *arguments))
        running[-1].until_ready()
        return running[-1]

    yield begin
    for server in running:
        if server.process.poll() is None:
            server.stop(signal.SIGTERM)


def alive(pids):
    return [pid for pid in pids if Path(f"/proc/{pid}").exists()]


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_one_signal_ends_every_process_within_five_seconds(start, number):
    server = start("--empty")
    pids = server.members()
    assert len(pids) == 4
    assert f"Make your login and your farm: http://localhost:{server.port}/start/" in server.text()
    ready = server.get("/readyz")
    # The worker's first sign comes within a minute.
    assert (ready.pop("worker") in ("ok", "unknown"), ready) == (True, {"database": "ok", "broker": "ok"})
    code, seconds = server.stop(number)
    assert (code, alive(pids)) == (0, [])
    assert seconds < 8  # five, and the time a busy machine takes to look


def test_a_process_that_dies_is_started_again(start):
    server = start("--empty")
    [_, web, *_] = server.members()
    os.kill(web, signal.SIGKILL)
    deadline = time.monotonic() + 30
    while "again in" not in server.text() or len(server.members()) < 4:
        assert time.monotonic() < deadline, server.text()
        time.sleep(0.1)
    assert web not in server.members()


def test_a_second_start_on_the_same_data_is_refused_by_the_number_of_the_first(start, tmp_path):
    server = start("--empty")
    done = run("--data", str(tmp_path / "data"), "--port", str(free_port()))
    assert done.returncode == 1
    assert f"already runs on {tmp_path}/data (process {server.process.pid})" in done.stderr


def test_the_first_run_plants_the_demo_and_a_second_run_keeps_it_and_is_ready_in_seconds(start, tmp_path):
    server = start()
    note = tmp_path / "data" / "first-login.txt"
    first = note.read_text()
    assert stat.S_IMODE(note.stat().st_mode) == 0o600
    assert first.strip() in server.text()
    assert f"http://localhost:{server.port}/" in server.text()
    server.stop(signal.SIGINT)
    started = time.monotonic()
    again = start()
    assert time.monotonic() - started < 20
    assert "Planting" not in again.text()
    assert (note.read_text(), str(note) in again.text()) == (first, True)
