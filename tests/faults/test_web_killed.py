"""A web process killed outright while phones tick: what was acknowledged is there, once, and the next one goes on."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest

from tests.faults.clients import ticking
from tests.faults.conftest import Village


@pytest.mark.parametrize("database", ["SQLite", "PostgreSQL"])
def test_killed_twice_in_the_middle_of_writing_nothing_acknowledged_is_lost_or_done_twice(
    village: Village, nothing_lost: Callable[..., None], database: str
) -> None:
    house = village.house(database).open()
    took = 0.0
    with ticking(village.phones(house)) as load:
        for _ in range(2):
            load.runs(15)
            web, since = house.processes[-1], time.monotonic()
            house.kill(web)
            house.start("web")
            took = max(took, load.works_again(since))
        load.runs(8)
        load.settle()
    assert load.statuses()[0] >= 2, "nobody noticed that it was gone"
    assert set(load.statuses()) == {0, 200}
    assert "Traceback" not in house.said()
    nothing_lost(house, load, "web process killed, twice", database, took)
