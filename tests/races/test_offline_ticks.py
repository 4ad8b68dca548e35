"""Phones come back into the network at the same moment: each thing is written down once, and everybody is answered."""

from __future__ import annotations

from dataclasses import replace

import pytest

from farm.models import ChoreMark, CountEntry, HistoryEntry, SentKey
from farm.models.member import Role
from farm.planning.window import Window
from farm.queries import agenda, heads
from farm.services import offline
from farm.services.actor import Actor
from farm.services.offline import Answer, Sent
from tests.conftest import TODAY, World, make_world
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def chicks(transactional_db: None) -> World:
    """Hollow Farm with chicks in Brooder 1."""
    world = make_world()
    world.add_housing("Brooder 1")
    world.add_batch("Spring", birds=12, age=9, housing="Brooder 1")
    return world


def tick(world: World, key: str, note: str = "") -> Sent:
    (item,) = (
        item
        for item in agenda.for_farm(world.farm, Window(TODAY, 1), TODAY)
        if (item.job, item.round) == ("feed_water", "morning")
    )
    return Sent(key=key, kind="tick", source=item.source, due=TODAY, round="morning", note=note)


def died(world: World, key: str, birds: int) -> Sent:
    stay = world.housing["Brooder 1"].stays.get()
    return Sent(key=key, kind="died", batch_id=stay.batch_id, housing_id=stay.housing_id, birds=birds)


def all_at_once(*calls: tuple[Actor, list[Sent]]) -> list[list[Answer]]:
    """Send each member's queue on a connection of its own, all together."""
    heard: dict[int, list[Answer]] = {}

    def send(n: int, by: Actor, things: list[Sent]) -> None:
        assert by.member is not None
        heard[n] = offline.accept(by, member=by.member, sent=things)

    acts = [lambda n=n, by=by, things=things: send(n, by, things) for n, (by, things) in enumerate(calls)]
    assert at_once(*acts) == [None] * len(calls)
    return [heard[n] for n in range(len(calls))]


def test_the_same_queue_sent_by_tab_and_worker_at_once_is_written_down_once(chicks: World):
    things = [tick(chicks, "a"), died(chicks, "b", 3)]
    first, second, third = all_at_once(*[(chicks.by, things)] * 3)
    assert first == second == third == [Answer("a", "done"), Answer("b", "done")]
    assert ChoreMark.objects.count() == CountEntry.objects.filter(kind="died").count() == 1
    assert SentKey.objects.count() == HistoryEntry.objects.filter(verb__in=("tick", "count")).count() == 2


def test_of_two_phones_one_was_quicker_and_the_others_note_is_kept(chicks: World):
    hal = chicks.add_member("Hal", Role.HELPER)
    answers = all_at_once(
        (chicks.by, [tick(chicks, "a", "bin low")]), (hal, [tick(chicks, "b", "one limps")])
    )
    statuses = sorted(answer.status for (answer,) in answers)
    assert statuses == ["already", "done"]
    assert any(answer.text.endswith("your note was kept.") for (answer,) in answers)
    mark = ChoreMark.objects.get()
    assert set(mark.note.split("\n")) == {"bin low", "one limps"}


def test_more_deaths_than_birds_are_never_counted_by_two_phones(chicks: World):
    hal = chicks.add_member("Hal", Role.HELPER)
    answers = all_at_once((chicks.by, [died(chicks, "a", 8)]), (hal, [died(chicks, "b", 8)]))
    assert sorted(answer.status for (answer,) in answers) == ["done", "refused"]
    assert heads.alive_on(CountEntry.objects.filter(kind="died").get().batch, TODAY) == 4


def test_a_tick_and_its_taking_back_by_two_members_end_in_one_of_both(chicks: World):
    hal = chicks.add_member("Hal", Role.HELPER)
    thing = tick(chicks, "a")
    all_at_once((chicks.by, [thing]), (hal, [replace(thing, key="b", kind="untick")]))
    assert ChoreMark.objects.count() <= 1
    assert SentKey.objects.count() == 2
