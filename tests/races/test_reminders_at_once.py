"""Two workers on the same reminders at the same moment, on real connections: made once, sent once."""

from __future__ import annotations

import threading

import pytest

from farm.models import Delivery, Notice
from farm.services import channels
from farm.services.reminders import look, sending
from tests.conftest import NOON, World, make_world
from tests.farm.reminders_world import MINUTE, Sender, at, begin, chicks, told
from tests.farm.test_reminders_sending import message
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def farm(transactional_db: None) -> World:
    world = make_world()
    world.add_housing("Brooder 1")
    chicks(world)
    return world


class Slow(Sender):
    """A channel that takes its time, so that others come by meanwhile."""

    def __init__(self) -> None:
        super().__init__()
        self.gate = threading.Event()

    def send(self, *given: object) -> None:
        self.gate.wait(0.3)
        super().send(*given)


def test_two_looks_at_once_make_each_message_once(farm: World) -> None:
    told(farm.by, morning_at="06:30")
    begin(farm, at("05:00"))

    raised = at_once(*[lambda: look.look(farm_id=farm.farm.pk, now=at("06:30"))] * 3)

    assert raised == [None, None, None]
    assert (Notice.objects.count(), Delivery.objects.count()) == (1, 1)


def test_two_workers_that_send_at_once_send_each_message_once(
    farm: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    for n in range(4):
        message(farm, str(n))
    slow = Slow()
    monkeypatch.setattr(channels, "of_kind", lambda kind: slow)

    at_once(*[lambda: sending.send_waiting(farm_id=farm.farm.pk, now=lambda: NOON)] * 3)

    assert sorted(one.subject for _address, one in slow.sent) == [f"Subject {n}" for n in range(4)]
    assert set(Delivery.objects.values_list("state", "tries")) == {("sent", 1)}


def test_a_lost_message_is_taken_up_by_one_of_two(farm: World, monkeypatch: pytest.MonkeyPatch) -> None:
    row = message(farm)
    Delivery.objects.filter(pk=row.pk).update(state="sending", claimed_at=NOON, tries=1)
    slow = Slow()
    monkeypatch.setattr(channels, "of_kind", lambda kind: slow)

    at_once(*[lambda: sending.send_waiting(farm_id=farm.farm.pk, now=lambda: NOON + 11 * MINUTE)] * 2)

    assert [one.subject for _address, one in slow.sent] == ["Again: Subject 1"]
    assert Delivery.objects.values_list("state", "tries").get() == ("sent", 2)
