"""Programs that send the same thing at the same moment, on real connections, and workers that tell the same webhook.

Each race is run as it is, and once more with its guard off, to show that it is real.
"""

from __future__ import annotations

from collections.abc import Callable
from email.message import Message
from threading import Barrier, Lock
from typing import Any

import pytest
import time_machine
from django.core.cache import cache

from api.core import keys
from api.models import SentRequest, Webhook
from api.services import webhooks
from api.webhooks import sending
from farm.models import CountEntry
from farm.services.channels import fetching
from tests.api.api_world import Program
from tests.conftest import NOON, TODAY, World, make_world
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)
DIED = {"kind": "died", "birds": 2, "day": TODAY.isoformat()}


@pytest.fixture
def farm(transactional_db: None):
    """Hollow Farm with 12 birds, at noon."""
    cache.clear()
    with time_machine.travel(NOON, tick=False):
        world = make_world()
        world.add_housing("Brooder 1")
        world.add_batch("Browns", birds=12, age=20, housing="Brooder 1")
        yield world


def counting(world: World, **headers: str) -> tuple[Callable[[], object], list[int]]:
    """Return an act that sends one count, and the list its answers' statuses go to."""
    program, path = Program(world.by), f"/batches/{CountEntry.objects.get().batch_id}/counts/"
    status: list[int] = []

    def act() -> None:
        status.append(program.post(path, DIED, **headers).status_code)

    return act, status


def test_the_same_key_sent_twice_at_once_counts_once(farm: World):
    act, status = counting(farm, Idempotency_Key="k")

    assert at_once(act, act, act) == [None, None, None]

    assert status == [201, 201, 201]
    assert list(CountEntry.objects.filter(kind="died").values_list("birds", flat=True)) == [-2]
    assert SentRequest.objects.count() == 1


def test_without_the_key_it_counts_each_time(farm: World):
    act, status = counting(farm)

    at_once(act, act, act)

    assert status == [201, 201, 201]
    assert CountEntry.objects.filter(kind="died").count() == 3


def test_with_the_claim_off_the_same_key_counts_more_than_once(farm: World, monkeypatch: pytest.MonkeyPatch):
    """Looking first and storing afterwards is not enough: both look before either has stored."""
    barrier = Barrier(2)

    def look_then_store(request: Any, key: str, digest: str, run: Callable[[], Any]) -> Any:
        barrier.wait(timeout=10)
        return run()

    monkeypatch.setattr(keys, "_claimed", look_then_store)
    act, _status = counting(farm, Idempotency_Key="k")

    at_once(act, act)

    assert CountEntry.objects.filter(kind="died").count() == 2


class Receiver:
    """Takes every message, and keeps what it was sent."""

    def __init__(self) -> None:
        self.ids: list[str] = []
        self.lock = Lock()

    def __call__(self, request: fetching.Request) -> fetching.Answer:
        with self.lock:
            self.ids.append(request.headers["webhook-id"])
        return fetching.Answer(200, Message(), b"", request.url)


def telling(world: World, receiver: Receiver) -> Callable[[], object]:
    return lambda: sending.send(farm_id=world.farm.pk, now=lambda: NOON, ask=receiver)


def test_two_workers_tell_a_webhook_each_thing_once(farm: World):
    webhooks.add(farm.by, label="Table", address="https://93.184.215.14/")
    farm.add_batch("Greens", age=1)
    receiver = Receiver()

    assert at_once(telling(farm, receiver), telling(farm, receiver)) == [None, None]
    telling(farm, receiver)()  # whoever found it claimed left it to the other

    assert len(receiver.ids) == len(set(receiver.ids)) == 2
    assert Webhook.objects.get().claimed_at is None


def test_with_the_claim_off_two_workers_tell_it_twice(farm: World, monkeypatch: pytest.MonkeyPatch):
    webhooks.add(farm.by, label="Table", address="https://93.184.215.14/")
    receiver, barrier = Receiver(), Barrier(2)

    def unclaimed(pk: int, now: sending.Clock, ask: sending.Ask) -> int:
        barrier.wait(timeout=10)
        return sending._tell(Webhook.objects.filter(pk=pk), now, ask)

    def slow(request: fetching.Request) -> fetching.Answer:
        answer = receiver(request)
        barrier.wait(timeout=10)  # neither has noted yet that it was taken
        return answer

    monkeypatch.setattr(sending, "_told", unclaimed)
    act = lambda: sending.send(farm_id=farm.farm.pk, now=lambda: NOON, ask=slow)  # noqa: E731
    at_once(act, act)

    assert len(receiver.ids) == 2
    assert len(set(receiver.ids)) == 1
