"""Workers killed in the middle of reminding and sending: each message arrives, and twice only where it says "Again".

A real worker, a real broker, and a mail server that counts and can be told to hang in the middle of a letter.
"""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.faults.post import Post, post_office

ROOT = Path(__file__).resolve().parents[2]
REDIS = os.environ.get("FEATHERDAYS_TEST_REDIS", "redis://127.0.0.1:6379/15")
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
#: Four people who want to hear of the morning round a minute ago, on a farm that was looked at before that.
PLANT = """
from datetime import datetime, timedelta, UTC
from farm.models import Channel, Login, Member, ReminderClock, ReminderWishes
from farm.models.history import Face
from farm.services import batches, farms, housings, members
from farm.services.actor import Actor
from farm.services.channels import sealing
now = datetime.now(UTC).replace(microsecond=0)
login = Login.objects.create_user("ada@example.org", "pw")
farm, ada = farms.start(login=login, keeper="Ada", name="Hollow Farm", time_zone="UTC", now=now, face=Face.COMMAND)
by = Actor(farm_id=farm.pk, face=Face.COMMAND, now=now, today=now.date(), member=ada, login=login)
place = housings.add(by, name="Brooder 1", kind="brooder", area_m2=4.0, heated=True)
batches.start(by, new=batches.NewBatch(name="Browns", birds=40, housing_id=place.pk,
    programme="chicken_layer_brown", hatch_day=now.date() - timedelta(days=14)))
people = [ada, *(members.add(by, name=name, role="helper") for name in ("Ben", "Cara", "Dan"))]
farm.morning_at = (now + timedelta(minutes=29)).time()
farm.save()
for one in people:
    ReminderWishes.objects.create(farm=farm, member=one, morning_at=(now - timedelta(minutes=1)).time(),
        changed=False, missed=False)
    to = f"{one.name.lower()}@example.org"
    Channel.objects.create(farm=farm, member=one, kind="email", label=to, address=sealing.seal(to))
ReminderClock.objects.update_or_create(farm=farm, defaults={"next_at": now - timedelta(minutes=2)})
"""
SWEEP = "from tasks import reminders; reminders.remind_due.delay()"
PEOPLE = {"ada", "ben", "cara", "dan"}


class Machine:
    """One machine on a data folder of its own."""

    def __init__(self, data: Path, **variables: str) -> None:
        kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
        own = {"FEATHERDAYS_DATA": str(data), "DJANGO_SETTINGS_MODULE": "farm.settings"}
        self.data, self.env = data, kept | own | variables
        self.workers: list[subprocess.Popen] = []

    def manage(self, *arguments: str) -> None:
        command = [sys.executable, "manage.py", *arguments]
        subprocess.run(command, cwd=ROOT, env=self.env, check=True, timeout=180)

    def shell(self, code: str) -> None:
        self.manage("shell", "--no-imports", "-c", code)

    def work(self) -> subprocess.Popen:
        worker = subprocess.Popen([sys.executable, "-m", *WORKER], cwd=ROOT, env=self.env)
        self.workers.append(worker)
        return worker

    def ask(self, query: str) -> list[tuple]:
        with closing(sqlite3.connect(self.data / "featherdays.sqlite3", timeout=20)) as link:
            found = link.execute(query).fetchall()
            link.commit()
            return found

    def eleven_minutes_pass(self) -> None:
        """Make what a worker had claimed, and what waits for another try, so much older."""
        self.ask("UPDATE farm_delivery SET claimed_at = datetime(claimed_at, '-660 seconds')")
        self.ask("UPDATE farm_delivery SET next_try_at = datetime(next_try_at, '-660 seconds')")

    def sweep(self) -> None:
        self.shell(SWEEP)

    def states(self) -> list[str]:
        return [state for (state,) in self.ask("SELECT state FROM farm_delivery")]

    def kill(self, worker: subprocess.Popen) -> None:
        os.kill(worker.pid, signal.SIGKILL)
        assert worker.wait(10) == -signal.SIGKILL


def until(holds: Callable[[], object], seconds: float = 120) -> None:
    deadline = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < deadline, "it never came to that"
        time.sleep(0.02)


@pytest.fixture(scope="module")
def planted(migrated: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the farm, its broker empty but for one sweep."""
    folder = tmp_path_factory.mktemp("planted") / "data"
    shutil.copytree(migrated, folder)
    found = Machine(folder)
    found.shell(PLANT)
    shutil.rmtree(folder / "broker", ignore_errors=True)
    found.sweep()
    return folder


@pytest.fixture
def post() -> Iterator[Post]:
    with post_office() as found:
        yield found


@pytest.fixture
def machine(planted: Path, tmp_path: Path, post: Post) -> Iterator[Machine]:
    shutil.copytree(planted, tmp_path / "data")
    found = Machine(tmp_path / "data", EMAIL_URL=f"smtp://127.0.0.1:{post.port}")
    yield found
    _end(found)


def _end(machine: Machine) -> None:
    for worker in machine.workers:
        if worker.poll() is None:
            worker.kill()
            worker.wait(10)


def killed_while_it_hangs(machine: Machine, post: Post, where: str) -> None:
    """Have a worker begin to send a letter, and kill it with the letter not taken yet (before) or taken (after)."""
    post.hang = where
    post.hangs.clear()
    worker = machine.work()
    until(post.hangs.is_set)
    machine.kill(worker)
    post.hang = ""


def all_sent(machine: Machine) -> None:
    """Let a healthy worker do the rest."""
    machine.eleven_minutes_pass()
    machine.sweep()
    worker = machine.work()
    until(lambda: machine.states() == ["sent"] * len(PEOPLE))
    worker.terminate()


def nothing_lost_and_each_second_copy_says_so(post: Post) -> None:
    for name in PEOPLE:
        first, *more = post.got(name)
        assert "Morning round" in first
        assert all(subject.startswith("Again: ") for subject in more), (name, more)


def test_undisturbed_everybody_gets_one(machine: Machine, post: Post) -> None:
    machine.work()
    until(lambda: machine.states() == ["sent"] * len(PEOPLE))
    assert sorted(to for to, _subject in post.letters) == sorted(PEOPLE)
    assert not any("Again" in subject for _to, subject in post.letters)


def test_killed_between_claim_and_sending_the_message_still_comes_once(machine: Machine, post: Post) -> None:
    killed_while_it_hangs(machine, post, "before")
    assert machine.states().count("sending") >= 1
    all_sent(machine)
    assert sorted(to for to, _subject in post.letters) == sorted(PEOPLE)


def test_killed_between_sending_and_marking_it_comes_twice_and_the_second_says_again(
    machine: Machine, post: Post
) -> None:
    killed_while_it_hangs(machine, post, "after")
    taken = [to for to, _subject in post.letters]
    all_sent(machine)
    nothing_lost_and_each_second_copy_says_so(post)
    twice = [name for name in PEOPLE if len(post.got(name)) == 2]
    assert sorted(twice) == sorted(taken)


def test_before_the_ten_minutes_are_over_nobody_takes_a_lost_message_for_dead(
    machine: Machine, post: Post
) -> None:
    killed_while_it_hangs(machine, post, "after")
    lost = machine.states().count("sending")
    machine.sweep()
    machine.work()
    until(lambda: machine.states().count("sent") == len(PEOPLE) - lost)
    time.sleep(1)
    assert machine.states().count("sending") == lost
    assert not any("Again" in subject for _to, subject in post.letters)


def killed_again_and_again(machine: Machine, post: Post) -> None:
    """Kill at four places: before a letter is taken, after, and at two moments that nobody chose."""
    for where in ("after", "before"):
        killed_while_it_hangs(machine, post, where)
        machine.eleven_minutes_pass()
        machine.sweep()
    for count in (1, 2):
        wanted = len(post.letters) + count
        worker = machine.work()
        until(lambda wanted=wanted: len(post.letters) >= wanted or "waiting" not in machine.states())
        machine.kill(worker)
        machine.eleven_minutes_pass()
        machine.sweep()
    all_sent(machine)


def test_swept_by_two_beats_and_worked_on_by_two_workers_everybody_gets_one(
    machine: Machine, post: Post
) -> None:
    machine.sweep()
    machine.sweep()
    machine.work()
    machine.work()
    until(lambda: machine.states() == ["sent"] * len(PEOPLE) and not _jobs(machine))
    time.sleep(1)
    assert sorted(to for to, _subject in post.letters) == sorted(PEOPLE)
    assert machine.ask("SELECT COUNT(*) FROM farm_notice") == [(len(PEOPLE),)]


def test_killed_again_and_again_nothing_is_lost(machine: Machine, post: Post) -> None:
    killed_again_and_again(machine, post)
    nothing_lost_and_each_second_copy_says_so(post)


def test_killed_while_it_looks_each_message_is_made_once(machine: Machine, post: Post) -> None:
    for n in range(4):
        worker = machine.work()
        until(lambda: "remind_farm" in _jobs(machine) or machine.states())
        time.sleep(0.03 * n)
        machine.kill(worker)
        machine.sweep()
    all_sent(machine)
    assert machine.ask("SELECT COUNT(*) FROM farm_notice") == [(len(PEOPLE),)]
    nothing_lost_and_each_second_copy_says_so(post)


def _jobs(machine: Machine) -> str:
    found = []
    for path in (machine.data / "broker" / "messages").glob("*.msg"):
        try:
            found.append(path.read_text())
        except FileNotFoundError:
            continue  # a worker was quicker
    return " ".join(found)


@pytest.mark.redis
def test_on_redis_too_nothing_is_lost(planted: Path, tmp_path: Path, post: Post) -> None:
    import redis

    redis.from_url(REDIS).flushdb()
    shutil.copytree(planted, tmp_path / "data")
    machine = Machine(tmp_path / "data", EMAIL_URL=f"smtp://127.0.0.1:{post.port}", REDIS_URL=REDIS)
    machine.sweep()
    try:
        killed_again_and_again(machine, post)
    finally:
        _end(machine)
    nothing_lost_and_each_second_copy_says_so(post)
