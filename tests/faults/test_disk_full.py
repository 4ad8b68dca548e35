"""The disk full to its last byte: what can't be saved is refused in plain words, all can be read, then it goes on."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from tests.faults.clients import ask, ticking
from tests.faults.conftest import Village
from tests.faults.servers import until
from tests.faults.small_disk import small_disk


def test_writes_are_refused_plainly_pages_are_read_and_after_room_was_made_all_goes_on(
    village: Village, tmp_path: Path, nothing_lost: Callable[..., None]
) -> None:
    disk = village.stack.enter_context(small_disk(tmp_path / "disk"))
    house = village.house("SQLite", data=disk.path / "data").open()
    others = [house.start("worker"), house.start("beat")]
    house.wait_for_worker()
    phones = village.phones(house)
    with ticking(phones) as load:
        load.runs(10)
        disk.fill()
        refused = load.statuses()[503]
        until(lambda: load.statuses()[503] >= refused + 8)
        read = [ask(phone.port, phone.path) for phone in phones]
        time.sleep(3)
        disk.free()
        took = load.works_again(time.monotonic())
        load.settle()
    assert [answer.status for answer in read] == [200] * 4
    assert set(load.statuses()) == {200, 503}
    assert load.slowest() < 10
    assert all(
        '"text": "The disk this runs on is full. Nothing was saved.' in text for text in load.said(503)
    )
    assert "Traceback" not in house.said("web")
    assert list((house.data / "broker").rglob("*.draft")) == [], "half a job stays on the disk"
    assert [each.poll() for each in others] == [None, None]
    nothing_lost(house, load, "disk full", "SQLite", took)
