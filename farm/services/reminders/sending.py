"""Messages leave one at a time: claimed, sent outside any transaction, marked. A lost worker's is sent "Again"."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from django.conf import settings
from django.db.models import F, QuerySet
from django.utils.translation import gettext as _

from farm.models import Channel, Delivery
from farm.models.notice import ChannelKind, DeliveryState, NoticeKind
from farm.services import channels
from farm.services.channels import Message, NotSent, sealing
from farm.services.reminders import clock, missed, texts

#: All project default (judgement). Waits after the first, second … try that failed; after the last there is none.
WAITS = tuple(timedelta(minutes=minutes) for minutes in (1, 4, 15, 60))
TRIES = len(WAITS) + 1
TIMEOUT_S = 20.0  # far below clock.LOST_AFTER: a worker that sends slowly is not taken for dead

Clock = Callable[[], datetime]


def send_waiting(*, farm_id: int, now: Clock) -> int:
    """Send what waits on a farm and may go out, and return how many left. Beside others who do the same, each once."""
    rows = Delivery.objects.filter(clock.sendable(now()), farm_id=farm_id).order_by("next_try_at", "pk")
    return sum(send(pk, now) == DeliveryState.SENT for pk in list(rows.values_list("pk", flat=True)))


def send(pk: int, now: Clock) -> str | None:
    """Send one delivery and return its new state; None when another worker has it or it is not to be sent now."""
    begun = now()
    again = _claim(pk, begun)
    if again is None:
        return None
    mine = Delivery.objects.filter(pk=pk, state=DeliveryState.SENDING, claimed_at=begun)
    row = mine.select_related("notice__farm", "notice__member__login", "channel").first()
    if row is None:
        return None  # its channel was removed just now
    if row.notice.expires_at <= begun:
        return _set(mine, DeliveryState.LATE)
    if _is_moot(row, begun):
        mine.delete()
        return None
    try:
        _hand_over(row, again=again)
    except NotSent as refused:
        return _failed(mine, row, refused, now(), again=again)
    Channel.objects.filter(pk=row.channel_id).update(worked_at=now(), failed_at=None, failure="")
    return _set(mine, DeliveryState.SENT, sent_at=now(), error="")


def _claim(pk: int, begun: datetime) -> bool | None:
    """Take a delivery, of two workers one, and say whether it may have gone out before; None when it can't be had.

    One that a worker was lost with keeps its `claimed_at` while it waits for another try: nobody knows whether it left.
    """
    row = Delivery.objects.filter(pk=pk)
    taken = {"state": DeliveryState.SENDING, "claimed_at": begun, "tries": F("tries") + 1}
    waiting, lost = row.filter(clock.waiting(begun)), row.filter(clock.lost(begun))
    if waiting.filter(claimed_at__isnull=True).update(**taken):
        return False
    text = _("Sending was broken off %(tries)d times.") % {"tries": TRIES}
    if lost.filter(tries__gte=TRIES).update(state=DeliveryState.DEAD, error=text):
        return None
    return True if waiting.update(**taken) or lost.update(**taken) else None


def _is_moot(row: Delivery, now: datetime) -> bool:
    """Say whether nobody wants it any more: switched off, the member left, or what it asks for was done meanwhile."""
    notice = row.notice
    if not row.channel.on or notice.member.left_on is not None:
        return True
    held_back = notice.due_at > notice.made_at or row.tries > 1
    return notice.kind == NoticeKind.MISSED and held_back and missed.is_over(notice, now)


def _hand_over(row: Delivery, *, again: bool) -> None:
    notice = row.notice
    with texts.in_words_of(notice.member):
        subject = _("Again: %(subject)s") % {"subject": notice.subject} if again else notice.subject
        message = Message(subject, notice.body, settings.ADDRESS + notice.url, f"notice-{notice.pk}")
        try:
            address = sealing.open_sealed(row.channel.address)
        except sealing.SealBroken as broken:
            raise NotSent(broken, lasting=True) from broken
        channels.of_kind(row.channel.kind).send(address, message, TIMEOUT_S)


def _failed(
    mine: QuerySet[Delivery], row: Delivery, refused: NotSent, now: datetime, *, again: bool
) -> str | None:
    """Have it tried again later, or give it up; the member sees why on their channel."""
    why = refused.text[:300]
    gone = refused.lasting and row.channel.kind == ChannelKind.PUSH  # the browser took its address back
    Channel.objects.filter(pk=row.channel_id).update(
        failed_at=now, failure=why, **({"on": False} if gone else {})
    )
    if refused.lasting or row.tries >= TRIES or row.notice.kind == NoticeKind.TEST:
        return _set(mine, DeliveryState.DEAD, error=why)
    wait = max(WAITS[row.tries - 1], timedelta(seconds=refused.wait_s or 0))
    kept = row.claimed_at if again else None
    return _set(mine, DeliveryState.WAITING, next_try_at=now + wait, error=why, claimed_at=kept)


def _set(mine: QuerySet[Delivery], state: DeliveryState, **fields: object) -> str | None:
    """Mark a delivery that is still ours; one that was taken over meanwhile is the other worker's to mark."""
    return state.value if mine.update(state=state, **fields) else None
