"""A disk on which a commit takes more than half of anybody's patience: slow, but answered, and nothing is lost."""

from __future__ import annotations

import time
from collections.abc import Callable

from tests.faults.clients import ask, ticking
from tests.faults.conftest import Village


def test_writers_wait_or_are_told_that_it_is_busy_readers_do_not_and_every_tick_gets_there(
    village: Village, nothing_lost: Callable[..., None]
) -> None:
    house = village.house("SQLite", settings="tests.faults.slow").open()
    phones = village.phones(house)
    read = []
    with ticking(phones) as load:
        load.works_again(begun := time.monotonic())
        took = time.monotonic() - begun
        for phone in phones:
            read.append(ask(phone.port, phone.path))
        load.runs(4)
        load.settle()
    assert [answer.status for answer in read] == [200] * len(phones)
    assert max(answer.seconds for answer in read) < 5
    assert set(load.statuses()) <= {200, 503}
    assert load.slowest() < 10
    assert "Traceback" not in house.said()
    nothing_lost(house, load, "slow disk", "SQLite", took)
