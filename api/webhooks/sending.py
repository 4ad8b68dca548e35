"""Telling webhooks what is new: in the order of the history, at least once, tried again when nobody answers.

A webhook is claimed by a conditional update, so that of two workers one tells it. Messages go out outside any
transaction; where a webhook stands is noted after each. A worker lost in between tells the last one once more: its
`webhook-id` is the same.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime, timedelta

from django.conf import settings
from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils.translation import gettext as _

from api.models import Webhook
from api.webhooks import signing
from api.webhooks.events import event
from farm.models import HistoryEntry
from farm.services.channels import fetching, sealing

Clock = Callable[[], datetime]
Ask = Callable[[fetching.Request], fetching.Answer]

#: How long until it is tried again after the first, second … failure; the last holds from then on. About four days
#: pass before it is given up. All project default (judgement).
WAITS = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 15, 60, 180, 480, 720))
MOST_FAILS = 13
AT_ONCE = 100  # messages one job sends to one webhook before others get their turn
SECONDS = 10.0
LOST_AFTER = timedelta(minutes=30)  # well above AT_ONCE times SECONDS for one that answers at all


def send(*, farm_id: int, now: Clock, ask: Ask | None = None) -> int:
    """Tell a farm's webhooks what they do not know yet and return how many messages were taken."""
    rows = Webhook.objects.filter(_ready(now()), farm_id=farm_id, active=True, farm__closing_on__isnull=True)
    return sum(_told(pk, now, ask or _ask) for pk in list(rows.values_list("pk", flat=True)))


def due(*, now: datetime) -> list[int]:
    """Return the farms with a webhook that has news waiting and may be told now: after failures, or a lost job."""
    news = HistoryEntry.objects.filter(farm_id=OuterRef("farm_id"), pk__gt=OuterRef("sent_upto"))
    rows = Webhook.objects.filter(_ready(now), Exists(news), active=True, farm__closing_on__isnull=True)
    return sorted(set(rows.values_list("farm_id", flat=True)))


def message_of(webhook: Webhook, entry: HistoryEntry) -> tuple[str, bytes]:
    """Return the id and the body of the message about an entry."""
    told = event(entry)
    body = {"type": told["type"], "timestamp": told["at"], "data": {"farm_id": entry.farm_id} | told}
    return f"evt_{webhook.pk}_{entry.pk}", json.dumps(body, cls=DjangoJSONEncoder).encode()


def deliver(webhook: Webhook, message: str, body: bytes, at: datetime, ask: Ask | None = None) -> str:
    """Send one message and return what went wrong in plain words, "" when it was taken."""
    try:
        address = sealing.open_sealed(webhook.sealed_address)
        secret = sealing.open_sealed(webhook.sealed_secret)
    except sealing.SealBroken as broken:
        return str(broken)
    signed = signing.headers(secret, message=message, at=int(at.timestamp()), body=body)
    headers = {"Content-Type": "application/json", "User-Agent": "Featherdays-webhooks"} | signed
    try:
        answer = (ask or _ask)(fetching.Request(address, "POST", headers, body))
    except fetching.Unfetched as nothing:
        return _(fetching.WHY[nothing.why])
    if 200 <= answer.status < 300:
        return ""
    return _("It answered with status %(status)d.") % {"status": answer.status}


def _ask(request: fetching.Request) -> fetching.Answer:
    limits = fetching.Limits(seconds=SECONDS, most_bytes=100_000, private=settings.PRIVATE_PUSH)
    return fetching.fetch(request, limits=limits)


def _ready(now: datetime) -> Q:
    waits = Q(try_at__isnull=True) | Q(try_at__lte=now)
    return waits & (Q(claimed_at__isnull=True) | Q(claimed_at__lte=now - LOST_AFTER))


def _told(pk: int, now: Clock, ask: Ask) -> int:
    begun = now()
    if not Webhook.objects.filter(_ready(begun), pk=pk, active=True).update(claimed_at=begun):
        return 0
    mine = Webhook.objects.filter(pk=pk, claimed_at=begun)
    try:
        return _tell(mine, now, ask)
    finally:
        mine.update(claimed_at=None)


def _tell(mine: QuerySet[Webhook], now: Clock, ask: Ask) -> int:
    taken = 0
    webhook = mine.first()
    if webhook is None:
        return 0
    news = HistoryEntry.objects.filter(farm_id=webhook.farm_id, pk__gt=webhook.sent_upto).order_by("pk")
    for entry in news.prefetch_related("changes")[:AT_ONCE]:
        wanted = not webhook.nouns or entry.noun in webhook.nouns
        trouble = deliver(webhook, *message_of(webhook, entry), now(), ask) if wanted else ""
        if trouble:
            _failed(mine, trouble, now())
            return taken
        calm = {"fails": 0, "trouble": "", "try_at": None} | ({"last_sent_at": now()} if wanted else {})
        if not mine.filter(active=True).update(sent_upto=entry.pk, **calm):
            return taken  # switched off, or changed, meanwhile
        taken += wanted
    return taken


def _failed(mine: QuerySet[Webhook], trouble: str, now: datetime) -> None:
    fails = (mine.values_list("fails", flat=True).first() or 0) + 1
    wait = WAITS[min(fails, len(WAITS)) - 1]
    mine.update(fails=fails, trouble=trouble[:200], try_at=now + wait, active=fails < MOST_FAILS)
