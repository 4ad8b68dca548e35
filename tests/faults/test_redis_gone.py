"""Redis emptied, restarted, away or silent: what people do is saved and answered in time, and jobs are done again."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from tests.faults.clients import Phone, ask, ticking
from tests.faults.conftest import Village
from tests.faults.house import House
from tests.faults.servers import until

#: How long a page may take while Redis is away or silent, on a busy machine. Seconds; project default (judgement).
IN_TIME = 10.0
#: A move that was planned for today and that nobody has written down as having happened.
PLAN_A_MOVE = "UPDATE farm_stay SET actual = false"


@pytest.fixture
def house(village: Village) -> House:
    return village.house("SQLite", redis=True).open()


def pages_are_read(phones: list[Phone]) -> None:
    for phone in phones:
        answer = ask(phone.port, phone.path)
        assert answer.status == 200
        assert answer.seconds < IN_TIME


def happened(house: House) -> bool:
    return house.sql("SELECT COUNT(*) FROM farm_stay WHERE actual = true") == [(1,)]


def test_jobs_that_were_lost_with_redis_are_made_good_by_the_next_sweep(
    village: Village, house: House
) -> None:
    house.sql(PLAN_A_MOVE)
    house.sweep("roll_over_all")
    redis = village.redis.client()
    assert redis.llen("featherdays") == 1
    redis.flushall()
    house.start("worker")
    assert not happened(house)
    house.sweep("roll_over_all")
    until(lambda: happened(house))


def test_while_redis_is_away_ticks_are_saved_and_pages_answer(
    village: Village, house: House, nothing_lost: Callable[..., None]
) -> None:
    phones = village.phones(house)
    with ticking(phones) as load:
        load.runs(5)
        since = time.monotonic()
        village.redis.kill()
        took = load.works_again(since)
        load.runs(10)
        pages_are_read(phones)
        load.settle()
    assert set(load.statuses()) == {200}
    assert load.slowest() < IN_TIME
    assert "Traceback" not in house.said("web")
    assert "waits for the hourly sweep" in house.said("web")
    nothing_lost(house, load, "Redis away", "SQLite", took)


def test_while_redis_is_silent_ticks_are_saved_and_pages_answer(
    village: Village, house: House, nothing_lost: Callable[..., None]
) -> None:
    phones = village.phones(house)
    with ticking(phones) as load:
        load.runs(5)
        since = time.monotonic()
        village.redis.freeze()
        took = load.works_again(since)
        load.runs(12, seconds=9)  # whoever waited for Redis told the others not to
        pages_are_read(phones)
        load.settle()
    assert set(load.statuses()) == {200}
    assert load.slowest() < IN_TIME
    village.redis.thaw()
    nothing_lost(house, load, "Redis silent", "SQLite", took)


def test_a_worker_takes_jobs_again_by_itself_after_redis_was_started_anew(
    village: Village, house: House, nothing_lost: Callable[..., None]
) -> None:
    worker = house.start("worker")
    house.wait_for_worker()
    with ticking(village.phones(house)) as load:
        load.runs(10)  # and the worker is busy with what each of them asks for
        village.redis.kill()
        time.sleep(1)
        village.redis.start()
        since = time.monotonic()
        load.settle()
    house.wait_for_worker()
    took = time.monotonic() - since
    assert worker.poll() is None
    nothing_lost(house, load, "Redis started anew, worker stays", "SQLite", took)
