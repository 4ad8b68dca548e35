"""PostgreSQL stopped at once and started anew under load: a plain sentence meanwhile, and it all goes on by itself."""

from __future__ import annotations

import signal
import time
from collections.abc import Callable

from tests.faults.clients import ask, ticking
from tests.faults.conftest import Village
from tests.faults.servers import until


def test_whoever_ticks_meanwhile_gets_a_plain_sentence_and_nothing_acknowledged_is_lost(
    village: Village, nothing_lost: Callable[..., None]
) -> None:
    house = village.house("PostgreSQL", webs=2).open()
    worker = house.start("worker")
    phones = village.phones(house)
    with ticking(phones) as load:
        load.runs(15)
        since = time.monotonic()
        village.postgres.stop(signal.SIGQUIT)
        read = [ask(phone.port, phone.path) for phone in phones[:2]]
        read.append(ask(house.ports[0], "/", cookie="sessionid=somebody"))
        until(lambda: load.statuses()[503] >= 2)
        village.postgres.start()
        took = load.works_again(since)
        load.runs(10)
        load.settle()
    house.sql("UPDATE farm_stay SET actual = false")
    house.sweep("roll_over_all")
    until(lambda: house.sql("SELECT COUNT(*) FROM farm_stay WHERE actual") == [(1,)])
    assert set(load.statuses()) == {200, 503}
    assert load.slowest() < 10
    assert all("can&#x27;t be reached just now" in answer.body and answer.status == 503 for answer in read)
    for text in load.said(503):
        assert text.startswith('{"text": "The farm')
    assert "Traceback" not in house.said("web")
    assert worker.poll() is None
    nothing_lost(house, load, "PostgreSQL stopped at once, started", "PostgreSQL", took)
