"""Two real beats on one Redis: one sends, and when it is killed the other does, without sending anything twice."""

import itertools
import json
import logging
import os
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
import redis

from tasks import beat
from tasks.app import app
from tasks.beat import FolderSeat, OneScheduler, RedisSeat

ROOT = Path(__file__).resolve().parents[2]
# A beat of its own that sends every second, into a queue nobody reads.
BEAT = """
from tasks import beat
import django; django.setup()
from tasks.app import app
app.conf.task_default_queue = "beat-trial"
app.conf.beat_schedule = {"every second": {"task": "sign_of_life", "schedule": 1.0}}
app.Beat(loglevel="INFO", pidfile=None, quiet=True).run()
"""

HOLD = """
import sys, time
from pathlib import Path
from tasks.beat import FolderSeat
seat = FolderSeat(Path(sys.argv[1]))
print(seat.hold(), flush=True)
time.sleep(60)
"""


def run_beat(data, name, url):
    kept = {each: os.environ[each] for each in ("PATH", "HOME", "LANG") if each in os.environ}
    own = {"FEATHERDAYS_DATA": str(data / "data"), "REDIS_URL": url, "FEATHERDAYS_LOG": "INFO"}
    log = (data / f"{name}.log").open("w")
    env = kept | own | {"DJANGO_SETTINGS_MODULE": "farm.settings"}
    return subprocess.Popen([sys.executable, "-c", BEAT], cwd=ROOT, env=env, stdout=log, stderr=log)


def wait_until(holds, seconds):
    deadline = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < deadline, "it took too long"
        time.sleep(0.1)


@pytest.mark.redis
def test_of_two_beats_one_sends_and_the_other_takes_over_when_it_is_killed(tmp_path, own_redis):
    link = own_redis.client()
    beats = {name: run_beat(tmp_path, name, own_redis.url) for name in ("first", "second")}
    log = {name: lambda name=name: (tmp_path / f"{name}.log").read_text() for name in beats}
    try:
        wait_until(lambda: all("beat: Starting" in read() for read in log.values()), 60)
        wait_until(lambda: link.llen("beat-trial") >= 3, 30)
        [holder] = [name for name, read in log.items() if "this beat sends now" in read()]
        [other] = set(beats) - {holder}
        assert "Sending" not in log[other]()

        beats[holder].kill()
        beats[holder].wait(5)
        killed = time.monotonic()
        wait_until(lambda: "Sending" in log[other](), beat.TAKEN_OVER_SECONDS + 5)
        assert (
            time.monotonic() - killed < beat.TAKEN_OVER_SECONDS + 2
        )  # and the time a busy machine takes to look

        # Handed over politely, nobody waits for the lease.
        beats[holder] = run_beat(tmp_path, "third", own_redis.url)
        wait_until(lambda: "beat: Starting" in (tmp_path / "third.log").read_text(), 60)
        beats[other].send_signal(signal.SIGTERM)
        assert beats[other].wait(10) == 0
        wait_until(lambda: "Sending" in (tmp_path / "third.log").read_text(), beat.RENEW_SECONDS + 4)
    finally:
        for process in beats.values():
            process.kill()
            process.wait(5)
    # One a second, whoever sent it: had two sent, some would be nearer.
    sent = sorted(times(link))
    gaps = [after - before for before, after in itertools.pairwise(sent)]
    assert min(gaps) > timedelta(seconds=0.5)


def times(link):
    """When each waiting job expires: an hour after it was sent."""
    for message in link.lrange("beat-trial", 0, -1):
        yield datetime.fromisoformat(json.loads(message)["headers"]["expires"])


@pytest.mark.redis
def test_a_seat_is_one_beats_until_it_is_left_or_lapses(own_redis, monkeypatch):
    monkeypatch.setattr(beat, "LEASE_SECONDS", 0.4)
    first, second = RedisSeat(own_redis.url), RedisSeat(own_redis.url)
    assert (first.hold(), second.hold(), first.hold()) == (True, False, True)
    second.leave()
    assert first.hold() is True, "who has it not can't free it"
    first.leave()
    assert (second.hold(), first.hold()) == (True, False)
    time.sleep(0.5)
    assert (first.hold(), second.hold()) == (True, False)


@pytest.mark.redis
def test_with_redis_away_a_seat_is_held_no_longer_than_its_lease(own_redis, monkeypatch):
    monkeypatch.setattr(beat, "LEASE_SECONDS", 0.5)
    seat = RedisSeat(own_redis.url)
    assert seat.hold() is True
    seat.link = redis.Redis.from_url("redis://127.0.0.1:1/0")
    assert seat.hold() is True
    time.sleep(0.6)
    assert seat.hold() is False


def test_in_a_data_folder_the_seat_goes_with_its_process(tmp_path):
    env = os.environ | {"DJANGO_SETTINGS_MODULE": "tests.settings"}
    other = subprocess.Popen(
        [sys.executable, "-c", HOLD, tmp_path], cwd=ROOT, env=env, stdout=subprocess.PIPE, text=True
    )
    try:
        assert other.stdout.readline() == "True\n"
        seat = FolderSeat(tmp_path)
        assert seat.hold() is False
    finally:
        other.kill()
        other.wait(5)
    assert (seat.hold(), seat.hold()) == (True, True)
    seat.leave()
    assert FolderSeat(tmp_path).hold() is True


def test_a_damaged_note_is_said_and_beat_begins_anew(tmp_path, caplog):
    (tmp_path / "beat.json").write_text('{"roll every farm over": "yester')
    with caplog.at_level(logging.WARNING, logger="tasks.beat"):
        assert FolderSeat(tmp_path).ran() == {}
    assert "can't be read, beat begins anew" in caplog.text


@pytest.fixture
def scheduler(tmp_path, monkeypatch):
    """A function that makes a scheduler on one folder, and the names of what all of them sent."""
    sent = []
    monkeypatch.setattr(OneScheduler, "producer", None)

    def make():
        made = OneScheduler(app, seat_of=lambda: FolderSeat(tmp_path), lazy=True)
        made.update_from_dict({"minutely": {"task": "sign_of_life", "schedule": 60.0}})
        monkeypatch.setattr(made, "apply_async", lambda entry, **_more: sent.append(entry.name))
        return made

    return make, sent


def test_who_stands_by_sends_nothing_and_looks_again_soon(scheduler, time_machine):
    make, sent = scheduler
    first, second = make(), make()
    first.tick()
    time_machine.move_to(datetime.now(UTC) + timedelta(minutes=2))
    assert second.tick() == beat.RENEW_SECONDS
    assert sent == []
    first.tick()
    assert sent == ["minutely"]


def test_who_takes_over_sends_neither_what_was_sent_nor_less_than_what_is_due(scheduler, time_machine):
    start = datetime(2026, 5, 1, 10, tzinfo=UTC)
    time_machine.move_to(start, tick=False)
    make, sent = scheduler
    first, second = make(), make()
    first.tick()
    time_machine.move_to(start + timedelta(seconds=61), tick=False)
    first.tick()
    first.close()
    second.tick()
    assert sent == ["minutely"], "sent just now by the other"
    time_machine.move_to(start + timedelta(seconds=122), tick=False)
    second.tick()
    assert sent == ["minutely", "minutely"]


def test_what_came_due_while_no_beat_ran_is_sent_at_once(scheduler, time_machine):
    start = datetime(2026, 5, 1, 10, tzinfo=UTC)
    time_machine.move_to(start, tick=False)
    make, sent = scheduler
    first = make()
    first.tick()
    time_machine.move_to(start + timedelta(seconds=61), tick=False)
    first.tick()
    first.close()
    time_machine.move_to(start + timedelta(hours=9), tick=False)
    make().tick()
    assert sent == ["minutely", "minutely"]
