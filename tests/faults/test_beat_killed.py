"""Beat killed outright, and what it keeps of its own damaged: the next one begins anew and stays."""

from __future__ import annotations

import time

from tests.faults.conftest import Village
from tests.faults.servers import until


def test_a_beat_after_one_that_was_killed_begins_anew_whatever_that_one_left(village: Village) -> None:
    house = village.house("SQLite")
    first = house.start("beat")
    until(lambda: list(house.data.glob("beat*")) or first.poll() is not None)
    house.kill(first)
    for path in house.data.glob("beat*"):
        path.write_bytes(b"\0" * 64)

    second = house.start("beat", 1)
    time.sleep(5)

    assert second.poll() is None
    assert "Traceback" not in house.said("beat")
