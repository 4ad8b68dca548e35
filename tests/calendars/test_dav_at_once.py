"""Task apps at the same moment: a list is settled once, and of two with the same tag one is told to look again."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial

import pytest
from django.db import connections

from calendars.dav import guests, lists, ticking
from calendars.dav.items import name_of
from calendars.dav.models import TodoList, TodoVersion
from farm.models import ChoreMark, HistoryEntry
from farm.models.history import Face
from tests.calendars.dav_world import an_app, opened, planted, ticked
from tests.conftest import NOON, World, make_world
from tests.farm.rota_world import key

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def world(transactional_db) -> World:
    found = make_world()
    found.add_housing("Brooder 1")
    return planted(found)


def together(*calls):
    def run(call):
        try:
            return call()
        except Exception as error:
            return type(error)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


def test_eight_at_once_settle_a_list_once(world):
    found = together(*[lambda: lists.token(lists.fresh(world.keeper, NOON))] * 8)
    assert len(set(found)) == 1
    row = TodoList.objects.get()
    assert row.revision == 1
    assert set(TodoVersion.objects.values_list("revision", flat=True)) == {1}


def test_of_two_with_the_same_tag_one_ticks_and_the_other_looks_again(world):
    look = key(world, "look")
    app = an_app(world.by)
    before = app.get(look)
    guest = guests.Guest(world.keeper, replace(world.by, face=Face.CALENDAR))
    sent = ticked(before.content.decode()).encode()
    call = partial(ticking.put, guest, name_of(look), sent, before["ETag"], "")
    assert sorted(map(str, together(call, call))) == sorted(map(str, (None, ticking.Stale)))
    assert ChoreMark.objects.count() == HistoryEntry.objects.filter(verb="tick").count() == 1


def test_ticks_and_their_taking_back_at_once_leave_one_of_both(world):
    look = key(world, "look")
    app = an_app(world.by)
    bare = app.get(look).content.decode()
    app.tick(look)
    done = app.get(look).content.decode()
    guest = guests.Guest(world.keeper, replace(world.by, face=Face.CALENDAR))
    bodies = (ticked(bare).encode(), opened(done).encode()) * 3
    calls = [partial(ticking.put, guest, name_of(look), body, "", "") for body in bodies]
    assert together(*calls) == [None] * 6
    assert ChoreMark.objects.count() in (0, 1)
    assert ("STATUS:COMPLETED" in app.get(look).content.decode()) == ChoreMark.objects.exists()
