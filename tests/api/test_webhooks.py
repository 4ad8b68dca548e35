"""Webhooks: told everything once taken, in order, signed, tried again, and never to a private address."""

from __future__ import annotations

import json
from datetime import datetime, timedelta
from email.message import Message

import pytest
import standardwebhooks

from api.models import Webhook
from api.services import webhooks
from api.webhooks import sending
from farm.errors import BadInput, Stale
from farm.models import Change, HistoryEntry
from farm.services.channels import fetching
from farm.services.farewell import farms as farewell
from tests.conftest import NOON, World

ADDRESS = "https://93.184.215.14/hook?key=hush"


class Receiver:
    """Stands at the other end: takes what comes, as long as `status` says so."""

    def __init__(self) -> None:
        self.got: list[fetching.Request] = []
        self.status = 200

    def __call__(self, request: fetching.Request) -> fetching.Answer:
        self.got.append(request)
        if self.status == 0:
            raise fetching.Unfetched("unreachable")
        return fetching.Answer(self.status, Message(), b"", request.url)

    @property
    def types(self) -> list[str]:
        return [json.loads(request.body)["type"] for request in self.got]


@pytest.fixture
def receiver() -> Receiver:
    return Receiver()


def added(world: World, **fields) -> tuple[Webhook, str]:
    return webhooks.add(world.by, **({"label": "Table", "address": ADDRESS} | fields))


def send(world: World, receiver: Receiver, now: datetime = NOON) -> int:
    return sending.send(farm_id=world.farm.pk, now=lambda: now, ask=receiver)


def test_everything_that_happens_from_now_on_is_told_in_order(world: World, receiver: Receiver):
    world.add_batch("Before")
    added(world)
    world.add_batch("Wrens")
    world.add_housing("Coop", kind="coop")

    assert send(world, receiver) == 3
    assert send(world, receiver) == 0

    assert receiver.types == ["farm.add_webhook", "batch.start_batch", "housing.add_housing"]
    told = json.loads(receiver.got[1].body)["data"]
    assert told["summary"] == "Batch Wrens started: 40 birds, hatched 17 April 2026"
    assert {"noun": "batch", "id": told["noun_id"], "how": "made"} in told["touched"]
    assert "Wrens" not in json.dumps(told["touched"])


def test_only_what_it_was_asked_for_is_told(world: World, receiver: Receiver):
    added(world, nouns=["housing"])
    world.add_batch("Wrens")
    world.add_housing("Coop", kind="coop")

    send(world, receiver)

    assert receiver.types == ["housing.add_housing"]


def test_another_farms_webhook_hears_nothing(world: World, elsewhere: World, receiver: Receiver):
    added(elsewhere)
    send(elsewhere, receiver)
    world.add_batch("Wrens")

    assert send(elsewhere, receiver) == 0


def test_the_signature_holds_for_an_independent_library(world: World, receiver: Receiver):
    """Judge: standardwebhooks, the reference library of Standard Webhooks 1.0."""
    _webhook, secret = added(world)
    now = datetime.now(tz=NOON.tzinfo)
    send(world, receiver, now)
    request = receiver.got[0]

    judge = standardwebhooks.Webhook(secret)
    assert judge.verify(request.body, dict(request.headers))["type"] == "farm.add_webhook"
    with pytest.raises(standardwebhooks.WebhookVerificationError):
        judge.verify(request.body.replace(b"farm", b"fram"), dict(request.headers))


def test_what_is_not_taken_is_tried_again_later_and_nothing_overtakes_it(world: World, receiver: Receiver):
    webhook, _secret = added(world)
    world.add_batch("Wrens")
    receiver.status = 503

    assert send(world, receiver) == 0
    webhook.refresh_from_db()
    assert (webhook.fails, webhook.trouble, webhook.try_at) == (
        1,
        "It answered with status 503.",
        NOON + timedelta(minutes=1),
    )
    assert send(world, receiver, NOON + timedelta(seconds=59)) == 0
    assert len(receiver.got) == 1

    receiver.status = 204
    later = NOON + timedelta(minutes=1)
    assert sending.due(now=later) == [world.farm.pk]
    assert send(world, receiver, later) == 2
    assert receiver.types == ["farm.add_webhook", "farm.add_webhook", "batch.start_batch"]
    ids = [request.headers["webhook-id"] for request in receiver.got]
    assert ids[0] == ids[1] != ids[2]
    webhook.refresh_from_db()
    assert (webhook.fails, webhook.trouble, webhook.try_at) == (0, "", None)
    assert sending.due(now=later) == []


def test_one_that_never_answers_is_switched_off_after_days(world: World, receiver: Receiver):
    webhook, _secret = added(world)
    receiver.status = 0
    now = NOON
    while Webhook.objects.get().active:
        send(world, receiver, now)
        now = Webhook.objects.get().try_at

    assert len(receiver.got) == sending.MOST_FAILS
    assert timedelta(days=3) < now - NOON < timedelta(days=6)
    assert send(world, receiver, now) == 0

    webhook = webhooks.change(world.by, webhook_id=webhook.pk, expected_version=None, active=True)
    receiver.status = 200
    assert send(world, receiver, now) == 2  # what it missed: being added, and being switched on again


def test_a_worker_that_was_lost_is_followed_by_another(world: World, receiver: Receiver):
    webhook, _secret = added(world)
    Webhook.objects.filter(pk=webhook.pk).update(claimed_at=NOON)

    assert send(world, receiver, NOON + timedelta(minutes=29)) == 0
    assert send(world, receiver, NOON + timedelta(minutes=30)) == 1


@pytest.mark.parametrize(
    "address",
    [
        "http://93.184.215.14/",
        "https://127.0.0.1/",
        "https://10.1.2.3/",
        "https://169.254.169.254/latest/meta-data/",
        "https://[::1]/",
        "https://[::ffff:10.0.0.1]/",
        "https://user:pw@93.184.215.14/",
        "https://0.0.0.0/",
        "ftp://93.184.215.14/",
        "https://",
        "nonsense",
    ],
)
def test_no_address_of_this_machines_neighbourhood_is_told(world: World, address: str):
    with pytest.raises(BadInput) as refused:
        added(world, address=address)
    assert list(refused.value.fields) == ["address"]
    assert not Webhook.objects.exists()


def test_an_address_that_turned_private_later_is_not_asked(world: World):
    """The name is judged anew at every message, by the very connection that would be made."""
    added(world, address="https://93.184.215.14/")
    request = fetching.Request("https://192.168.1.1/", "POST", {}, b"{}")
    with pytest.raises(fetching.Unfetched) as refused:
        sending._ask(request)
    assert refused.value.why == "private"


def test_address_and_secret_are_written_nowhere_in_clear(world: World):
    webhook, secret = added(world)

    kept = str(list(Change.objects.values_list("after", flat=True))) + str(
        list(Webhook.objects.values()) + list(HistoryEntry.objects.values_list("summary", flat=True))
    )

    assert "hush" not in kept
    assert secret not in kept
    assert webhook.shown_address == "https://93.184.215.14/…"


def test_changing_what_somebody_else_changed_is_refused(world: World):
    webhook, _secret = added(world)
    webhooks.change(world.by, webhook_id=webhook.pk, expected_version=1, label="Chart")

    with pytest.raises(Stale):
        webhooks.change(world.by, webhook_id=webhook.pk, expected_version=1, label="Lamp")
    assert Webhook.objects.get().label == "Chart"


def test_a_message_to_try_it_says_how_it_was_taken(world: World, receiver: Receiver):
    webhook, _secret = added(world)

    assert webhooks.try_out(world.by, webhook_id=webhook.pk, at=NOON, ask=receiver) == ""
    receiver.status = 404
    assert webhooks.try_out(world.by, webhook_id=webhook.pk, at=NOON, ask=receiver) == (
        "It answered with status 404."
    )
    assert receiver.types == ["webhook.try", "webhook.try"]


def test_the_api_adds_changes_and_removes_webhooks(world: World, program):
    made = program.post("/webhooks/", {"label": "Table", "address": ADDRESS, "nouns": ["batch"]})
    assert made.status_code == 201
    assert made.json()["secret"].startswith("whsec_")
    path = f"/webhooks/{made.json()['id']}/"
    assert "secret" not in program.get(path).json()

    assert program.patch(path, {"active": False}, seen=program.get(path)).json()["active"] is False
    assert program.delete(path).status_code == 428
    assert program.delete(path, seen=program.get(path)).status_code == 204
    assert not Webhook.objects.exists()


def test_a_closed_farms_webhook_rests_and_is_told_later(world: World, receiver: Receiver):
    added(world)
    farewell.close(world.by, name="Hollow Farm")
    assert send(world, receiver) == 0
    assert sending.due(now=NOON) == []

    farewell.keep(world.by)
    assert send(world, receiver) == 3
