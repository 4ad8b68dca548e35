"""SQLite held by another process for longer than anybody waits: a plain sentence, nothing saved, the phone keeps it."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import closing

from tests.faults.clients import ask, ticking
from tests.faults.conftest import Village
from tests.faults.servers import until


def test_whoever_ticks_meanwhile_is_told_that_it_is_busy_and_their_ticks_come_through_later(
    village: Village, nothing_lost: Callable[..., None]
) -> None:
    house = village.house("SQLite", settings="tests.faults.hasty").open()
    phones = village.phones(house)
    with ticking(phones) as load:
        load.runs(8)
        with closing(house.sqlite()) as other:
            other.execute("BEGIN IMMEDIATE")
            before = load.statuses()[503]
            until(lambda: load.statuses()[503] >= before + 4)
            read = ask(phones[0].port, phones[0].path)
            other.rollback()
        released = time.monotonic()
        took = load.works_again(released)
        load.settle()
    assert read.status == 200
    assert set(load.statuses()) == {200, 503}
    assert load.said(503) == {
        '{"text": "The farm\'s records are busy just now. Nothing was saved: try again in a moment."}'
    }
    assert "Traceback" not in house.said()
    nothing_lost(house, load, "database locked by another process", "SQLite", took)


def test_a_plain_form_gets_the_sentence_as_a_page_and_saves_nothing(village: Village) -> None:
    house = village.house("SQLite", settings="tests.faults.hasty").open()
    (phone,) = village.phones(house, many=1)
    with closing(house.sqlite()) as other:
        other.execute("BEGIN IMMEDIATE")
        answer = ask(phone.port, phone.path, form=dict(next(phone.things)) | {"key": "a", "kind": "tick"})
        other.rollback()
    assert answer.status == 503
    assert "Nothing was saved: try again in a moment." in answer.body
    assert answer.headers["Retry-After"] == "5"
    assert house.sql("SELECT COUNT(*) FROM farm_choremark") == [(0,)]
