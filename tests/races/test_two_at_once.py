"""Two people write to the same batch at the same moment, on real connections.

Each race is run as it is, and once more with the farm's lock taken off, to show that the race is real and the lock is
what prevents it. SQLite's IMMEDIATE transactions let one writer in anyway; there the lock's absence changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import timedelta
from threading import Barrier, BrokenBarrierError, Thread
from typing import Any

import pytest
from django.db import connection, connections

from farm.errors import BadInput, FarmError
from farm.models import ChoreMark, Farm, Stay
from farm.queries import heads, soundness
from farm.services import batch_rules, chores, counts, egg_sets, hatches, locks, machines, stays
from tests.conftest import TODAY, World, make_world

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def full(transactional_db: None) -> World:
    """Hollow Farm with 12 birds in Brooder 1 and an empty pen with heat for each of two movers."""
    world = make_world()
    world.add_housing("Brooder 1")
    world.add_housing("Pen 1")
    world.add_housing("Pen 2")
    world.add_batch("Browns", birds=12, age=20, housing="Brooder 1")
    return world


def at_once(*acts: Callable[[], object]) -> list[Exception | None]:
    """Run the acts in threads that start together; return what each raised."""
    barrier = Barrier(len(acts))
    raised: list[Exception | None] = [None] * len(acts)

    def run(i: int, act: Callable[[], object]) -> None:
        try:
            barrier.wait(timeout=10)
            act()
        except Exception as error:
            raised[i] = error
        finally:
            connections.close_all()

    threads = [Thread(target=run, args=(i, act)) for i, act in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    return raised


@contextmanager
def meeting(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Take the farm's lock off, and hold each writer between writing and judging until the other is there too."""
    barrier, judge = Barrier(2), batch_rules.check_stay

    def wait(*args: Any, **kwargs: Any) -> None:
        # Where the other one cannot come (SQLite lets one writer in), go on alone.
        with suppress(BrokenBarrierError):
            barrier.wait(timeout=2)
        judge(*args, **kwargs)

    monkeypatch.setattr(batch_rules, "check_stay", wait)
    monkeypatch.setattr(locks, "farm", lambda farm_id, closed=False: Farm.objects.get(pk=farm_id))
    yield


def move(world: World, to: str, birds: int) -> Callable[[], object]:
    batch = Stay.objects.get(housing=world.housing["Brooder 1"]).batch
    return lambda: stays.move(
        world.by,
        batch_id=batch.pk,
        from_id=world.housing["Brooder 1"].pk,
        to_id=world.housing[to].pk,
        birds=birds,
        day=TODAY,
    )


def test_two_moves_of_the_same_birds_move_them_once(full: World):
    raised = at_once(move(full, "Pen 1", 10), move(full, "Pen 2", 10))

    refused = [error for error in raised if error is not None]
    assert [type(error) for error in refused] == [BadInput]
    assert list(refused[0].fields) == ["birds"]
    moved = Stay.objects.exclude(housing=full.housing["Brooder 1"])
    assert [stay.birds for stay in moved] == [10]
    assert soundness.problems(full.farm) == []


def both_plan_all(world: World) -> list[Exception | None]:
    """Two keepers plan all 12 birds of a batch without housing at once, each into another pen."""
    batch = world.add_batch("Reds", birds=12, age=20)

    def plan(name: str) -> Callable[[], object]:
        place = world.housing[name].pk
        return lambda: stays.add(
            world.by,
            batch_id=batch.pk,
            housing_id=place,
            birds=12,
            start=TODAY,
            end=TODAY + timedelta(days=9),
        )

    return at_once(plan("Pen 1"), plan("Pen 2"))


def test_two_plans_for_the_same_birds_leave_one(full: World):
    raised = both_plan_all(full)

    assert sorted(type(error).__name__ for error in raised) == ["BadInput", "NoneType"]
    assert sum(stay.birds for stay in Stay.objects.filter(batch__name="Reds")) == 12


def test_without_the_lock_postgresql_would_house_the_same_birds_twice(
    full: World, monkeypatch: pytest.MonkeyPatch
):
    with meeting(monkeypatch):
        both_plan_all(full)

    housed = sum(stay.birds for stay in Stay.objects.filter(batch__name="Reds"))
    # SQLite's IMMEDIATE transactions are a lock of their own.
    assert housed == (24 if connection.vendor == "postgresql" else 12)


def test_deaths_counted_by_two_people_at_once_are_both_kept(full: World):
    batch = Stay.objects.get().batch

    raised = at_once(
        *(
            lambda birds=birds: counts.add(full.by, batch_id=batch.pk, kind="died", birds=birds, day=TODAY)
            for birds in (1, 2, 3)
        )
    )

    assert raised == [None, None, None]
    assert heads.alive_on(batch, TODAY) == 6


def test_more_deaths_than_birds_from_two_people_leave_the_ledger_sound(full: World):
    batch = Stay.objects.get().batch

    raised = at_once(
        *(lambda: counts.add(full.by, batch_id=batch.pk, kind="died", birds=8, day=TODAY) for _ in range(2))
    )

    assert sorted(type(error).__name__ for error in raised) == ["BadInput", "NoneType"]
    assert heads.alive_on(batch, TODAY) == 4


def test_a_chore_ticked_by_two_at_once_is_one_tick(full: World):
    tick = {"source": "room:1/feed_water", "due": TODAY, "round": "morning", "title": "Feed and water"}

    raised = at_once(*(lambda: chores.mark(full.by, **tick) for _ in range(4)))

    assert raised == [None] * 4
    assert ChoreMark.objects.count() == 1


def test_the_same_offline_entry_sent_by_two_tabs_is_one_entry(full: World):
    batch = Stay.objects.get().batch
    entry = {"batch_id": batch.pk, "kind": "died", "birds": 1, "day": TODAY, "client_key": "phone-1-17"}

    raised = at_once(*(lambda: counts.add(full.by, **entry) for _ in range(3)))

    assert raised == [None] * 3
    assert heads.alive_on(batch, TODAY) == 11


def test_two_stale_forms_never_overwrite_each_other(full: World):
    stay = Stay.objects.get()

    def change(days: int) -> Callable[[], object]:
        end = TODAY + timedelta(days=days)
        return lambda: stays.change(full.by, stay_id=stay.pk, expected_version=stay.version, end=end)

    raised = at_once(change(30), change(40))

    assert sorted(type(error).__name__ for error in raised) == ["NoneType", "Stale"]
    assert all(error is None or isinstance(error, FarmError) for error in raised)


def test_a_hatch_recorded_by_two_at_once_is_recorded_once(full: World):
    cabinet = machines.add(full.by, name="Cabinet", does="both", medium_eggs=60)
    new = egg_sets.NewEggSet(
        programme="chicken_layer_brown", eggs=40, set_on=TODAY - timedelta(days=21), setter_id=cabinet.pk
    )
    egg_set = egg_sets.set_eggs(full.by, new=new)
    hatch = {"egg_set_id": egg_set.pk, "day": TODAY, "expected_version": egg_set.version}

    raised = at_once(*(lambda n=n: hatches.record(full.by, hatched=n, **hatch) for n in (30, 31)))

    assert sorted(type(error).__name__ for error in raised) == ["BadInput", "NoneType"]
    assert heads.alive_on(egg_set.batch, TODAY) in (30, 31)
    assert soundness.problems(full.farm) == []


def test_two_sets_for_the_last_room_of_a_machine_leave_one(full: World):
    cabinet = machines.add(full.by, name="Cabinet", does="both", medium_eggs=60)
    new = egg_sets.NewEggSet(programme="chicken_layer_brown", eggs=40, set_on=TODAY, setter_id=cabinet.pk)

    raised = at_once(*(lambda: egg_sets.set_eggs(full.by, new=new) for _ in range(2)))

    assert sorted(type(error).__name__ for error in raised) == ["BadInput", "NoneType"]
    assert soundness.problems(full.farm) == []
