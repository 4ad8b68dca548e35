"""End to end: a page's process sends a job, a real worker process does it."""

import os
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
REDIS = os.environ.get("FEATHERDAYS_TEST_REDIS", "redis://127.0.0.1:6379/15")
AWAY = "redis://127.0.0.1:1/0"
WORKER = [
    "celery",
    "--quiet",
    "-A",
    "tasks.app",
    "worker",
    "--pool=threads",
    "--without-gossip",
    "--without-mingle",
]
MAKE_SESSIONS = """
from datetime import timedelta
from django.contrib.sessions.models import Session
from django.utils import timezone
for key, days in (("over", -1), ("open", 1)):
    ends = timezone.now() + timedelta(days=days)
    Session.objects.create(session_key=key, session_data="", expire_date=ends)
"""
SEND = "from farm import dispatch; dispatch.after_commit('clear_expired')"


class Machine:
    """A data folder of its own and the commands of one machine on it."""

    def __init__(self, data, **variables):
        kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
        own = {"FEATHERDAYS_DATA": str(data), "DJANGO_SETTINGS_MODULE": "farm.settings"}
        self.data, self.env = data, kept | own | variables

    def manage(self, *arguments):
        command = [sys.executable, "manage.py", *arguments]
        done = subprocess.run(
            command, cwd=ROOT, env=self.env, capture_output=True, text=True, timeout=60, check=False
        )
        assert done.returncode == 0, done.stderr
        return done

    def worker(self):
        return subprocess.Popen([sys.executable, "-m", *WORKER], cwd=ROOT, env=self.env)

    def sessions(self):
        with sqlite3.connect(self.data / "featherdays.sqlite3") as link:
            return [key for (key,) in link.execute("SELECT session_key FROM django_session")]


def wait_until(holds, seconds=30):
    deadline = time.monotonic() + seconds
    while not holds() and time.monotonic() < deadline:
        time.sleep(0.1)
    return holds()


def clears_the_expired_session(machine):
    machine.manage("migrate", "--verbosity=0")
    machine.manage("shell", "--no-imports", "-c", MAKE_SESSIONS + SEND)
    assert sorted(machine.sessions()) == ["open", "over"]
    worker = machine.worker()
    try:
        assert wait_until(lambda: machine.sessions() == ["open"])
    finally:
        worker.terminate()
        assert worker.wait(10) == 0


def test_on_the_in_machine_broker_a_worker_started_later_does_the_job(tmp_path):
    clears_the_expired_session(Machine(tmp_path))
    assert [*(tmp_path / "broker" / "messages").iterdir()] == []


@pytest.mark.redis
def test_on_redis_a_worker_started_later_does_the_job(tmp_path):
    import redis

    redis.from_url(REDIS).flushdb()
    clears_the_expired_session(Machine(tmp_path, REDIS_URL=REDIS))
    assert not (tmp_path / "broker").exists()


def test_with_redis_away_a_page_goes_on_within_seconds_and_the_log_names_the_job(tmp_path):
    started = time.monotonic()
    done = Machine(tmp_path, REDIS_URL=AWAY).manage("shell", "--no-imports", "-c", SEND + "; print('saved')")
    assert time.monotonic() - started < 8
    assert done.stdout == "saved\n"
    assert "the broker is away, clear_expired {} waits for the hourly sweep" in done.stderr
