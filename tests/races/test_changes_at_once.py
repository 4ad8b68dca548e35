"""Whoever follows the feed of changes misses none, however two writers meet.

A write takes its number under the farm's lock and keeps the lock until it is committed. Without it a later number could
be there before an earlier one, and a reader who goes on from the later one would never see the earlier.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread, current_thread

import pytest
import time_machine
from django.db import connection, connections
from django.db.models.signals import post_save

from farm.models import Farm, HistoryEntry
from farm.services import locks, observations
from tests.api.api_world import Program
from tests.conftest import NOON, World, make_world

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def followed(transactional_db: None) -> World:
    """Hollow Farm with one housing to note things about."""
    world = make_world()
    world.add_housing("Pen 1")
    return world


def note(world: World, text: str) -> None:
    observations.add(world.by, kind="note", housing_id=world.housing["Pen 1"].pk, note=text)


def read_on(program: Program, found: list[int], known: int) -> int:
    told = program.get(f"/changes/?since={known}&limit=200").json()
    found += [one["id"] for one in told["items"]]
    return told["next"]


@contextmanager
def held_after_its_number(thread: Thread, numbered: Event, go_on: Event) -> Iterator[None]:
    """Hold the write of a thread between taking its number and being committed."""

    def hold(sender: type[HistoryEntry], **_kwargs: object) -> None:
        if current_thread() is thread:
            numbered.set()
            go_on.wait(timeout=20)

    post_save.connect(hold, sender=HistoryEntry)
    try:
        yield
    finally:
        post_save.disconnect(hold, sender=HistoryEntry)


def followed_while_two_write(world: World) -> list[int]:
    """Return the numbers a reader saw who reads while one writer has its number but is not done, and another comes."""
    numbered, go_on, second_done = Event(), Event(), Event()

    def first() -> None:
        note(world, "first")
        connections.close_all()

    def second() -> None:
        note(world, "second")
        second_done.set()
        connections.close_all()

    with time_machine.travel(NOON, tick=True):
        program = Program(world.by)
        found: list[int] = []
        known = read_on(program, found, 0)
        writers = [Thread(target=first), Thread(target=second)]
        with held_after_its_number(writers[0], numbered, go_on):
            writers[0].start()
            assert numbered.wait(timeout=20)
            writers[1].start()
            second_done.wait(timeout=1)  # with the lock it has to wait for the first
            known = read_on(program, found, known)
            go_on.set()
            for writer in writers:
                writer.join(timeout=30)
        read_on(program, found, known)
    return found


def all_numbers() -> list[int]:
    return list(HistoryEntry.objects.order_by("pk").values_list("pk", flat=True))


def test_a_reader_of_the_feed_misses_no_write(followed: World):
    found = followed_while_two_write(followed)

    assert HistoryEntry.objects.filter(verb="observe").count() == 2
    assert found == all_numbers()


def test_without_the_lock_postgresql_would_hide_a_write_from_the_reader(
    followed: World, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(locks, "farm", lambda farm_id, closed=False: Farm.objects.get(pk=farm_id))

    found = followed_while_two_write(followed)

    assert HistoryEntry.objects.filter(verb="observe").count() == 2
    missed = len(all_numbers()) - len(found)
    # SQLite's IMMEDIATE transactions are a lock of their own.
    assert missed == (1 if connection.vendor == "postgresql" else 0)
