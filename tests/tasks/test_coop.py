"""script/coop runs several processes of a kind on PostgreSQL and Redis, and one of them going is no loss."""

import contextlib
import json
import os
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from farm.management import ground
from tests.tasks.running import KEPT, ROOT, free_port, listens, wait_until

POSTGRES = os.environ.get("FEATHERDAYS_TEST_POSTGRES", "postgres://postgres@127.0.0.1:5432/postgres")
HOLD = """
import sys, time
from pathlib import Path
from farm.management import ground
ground.among(Path(sys.argv[1]))
print("held", flush=True)
time.sleep(60)
"""


@pytest.mark.parametrize(
    "variables, words",
    [
        ({}, "DATABASE_URL is not set. It must name a PostgreSQL database."),
        ({"DATABASE_URL": "postgres://a@b/c"}, "REDIS_URL is not set. It must name a Redis server."),
    ],
)
def test_the_script_says_what_it_lacks_before_anything_is_installed(variables, words):
    done = subprocess.run(
        [ROOT / "script/coop"], env=KEPT | variables, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (1, "", f"featherdays: {words}\n")


def test_a_misspelt_option_is_refused():
    done = subprocess.run(
        [ROOT / "script/coop", "--webs"], env=KEPT, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (
        1,
        "featherdays: --webs is not an option. See script/coop --help\n",
    )


def test_on_sqlite_it_is_refused_with_the_reason(tmp_path):
    env = KEPT | {"FEATHERDAYS_DATA": str(tmp_path), "REDIS_URL": "redis://127.0.0.1:1/0"}
    done = subprocess.run(
        [sys.executable, "manage.py", "coop"], cwd=ROOT, env=env, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "DATABASE_URL must name a PostgreSQL database" in done.stderr


def test_single_processes_share_a_data_folder_and_a_whole_start_wants_it_alone(tmp_path):
    env = os.environ | {"DJANGO_SETTINGS_MODULE": "tests.settings"}
    command = [sys.executable, "-c", HOLD, tmp_path]
    others = [
        subprocess.Popen(command, cwd=ROOT, env=env, stdout=subprocess.PIPE, text=True) for _ in range(2)
    ]
    try:
        assert [each.stdout.readline() for each in others] == ["held\n"] * 2
        with pytest.raises(ground.CommandError, match="already runs on"), ground.alone(tmp_path):
            pass
    finally:
        for each in others:
            each.kill()
            each.wait(5)
    with ground.alone(tmp_path), pytest.raises(ground.CommandError, match=f"process {os.getpid()}"):
        ground.among(tmp_path)


@pytest.fixture
def database():
    """An empty PostgreSQL database of its own, dropped afterwards."""
    import psycopg

    name, server = f"test_featherdays_coop_{os.getpid()}", POSTGRES.rpartition("/")[0]
    try:
        link = psycopg.connect(POSTGRES, connect_timeout=3, autocommit=True)
    except psycopg.OperationalError as error:
        if os.environ.get("REQUIRE_SERVICES") == "1":
            raise
        pytest.skip(f"no PostgreSQL: {error}")
    with link:
        link.execute(f"CREATE DATABASE {name}")
        yield f"{server}/{name}"
        link.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.mark.redis
def test_two_web_processes_share_the_requests_and_one_going_is_no_loss(machine, own_redis, database):
    port = free_block(3)
    coop = machine(
        [sys.executable, "manage.py", "coop", "--web", "2", "--worker", "1"],
        DATABASE_URL=database,
        REDIS_URL=own_redis.url,
        FEATHERDAYS_PORT=str(port),
        FEATHERDAYS_LOG="INFO",
        FEATHERDAYS_LOG_FORMAT="json",
        FEATHERDAYS_STOP_SECONDS="5",
    )
    wait_until(lambda: "Ctrl-C stops it." in machine.log() or coop.poll() is not None, 120)
    assert coop.poll() is None, machine.log()
    proxied = "nginx is not installed" not in machine.log()
    front = port if proxied else port + 1
    assert json.loads(get(front, "/readyz"))["database"] == "ok"
    if proxied:
        with pytest.raises(urllib.error.HTTPError, match="404"):
            get(front, "/metrics")

    done, failed = threading.Event(), []

    def keep_asking():
        while not done.is_set():
            try:
                get(front, "/login/")
            except OSError as error:
                failed.append(error)

    askers = [threading.Thread(target=keep_asking) for _ in range(2)]
    for each in askers:
        each.start()
    going = port + 2  # behind the proxy; without one, the process nobody asks
    [pid] = listeners(going)
    os.kill(pid, signal.SIGTERM)
    wait_until(lambda: f"The web {going} process ended (0)" in machine.log(), 30)
    time.sleep(1)
    done.set()
    for each in askers:
        each.join(30)
    assert failed == []
    coop.send_signal(signal.SIGINT)
    assert coop.wait(20) == 0
    assert not any(listens(port + number) for number in range(3))


def get(port, path):
    with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=30) as reply:
        return reply.read()


def free_block(size):
    while True:
        port = free_port()
        if port + size < 65536 and not any(listens(port + number) for number in range(size)):
            return port


def listeners(port):
    """Return the process ids that were started for a port."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if f"FEATHERDAYS_PORT={port}".encode() in (folder / "environ").read_bytes().split(b"\0"):
                found.append(int(folder.name))
    return found
