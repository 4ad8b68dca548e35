"""When a farm is looked at next, and which farms are due: the sweep reads one index, however many farms there are."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db.models import Q

from farm.models import Channel, Delivery, Farm, ReminderClock
from farm.models.notice import DeliveryState

#: A worker that says nothing of a message for so long has died over it. Project default (judgement); far longer than
#: any sending may take.
LOST_AFTER = timedelta(minutes=10)
#: A farm is looked at once a day at least, also when nobody there is to be told anything.
LOOK_AGAIN = timedelta(days=1)


def soon(farm_id: int, at: datetime) -> None:
    """Have a farm looked at by `at`. What it still owes from before, it goes on owing.

    With now: because wishes, channels or the times of rounds changed, and with them what comes next.
    """
    if Channel.objects.filter(farm_id=farm_id, on=True).exists():  # else nobody can be told anything
        ReminderClock.objects.get_or_create(farm_id=farm_id, defaults={"next_at": at})
    ReminderClock.objects.filter(farm_id=farm_id, next_at__gt=at).update(next_at=at)


def set_next(farm: Farm, at: datetime) -> None:
    """Set when a farm is looked at next."""
    ReminderClock.objects.update_or_create(farm=farm, defaults={"next_at": at})


def to_look_at(now: datetime) -> list[int]:
    """Return the open farms that are due, the longest waiting first, and those with channels that have no clock yet.

    Due is also what waits for longer than anything may: the machine's clock was ahead when that was set.
    """
    due = ReminderClock.objects.filter(
        Q(next_at__lte=now) | Q(next_at__gt=now + LOOK_AGAIN), farm__closing_on__isnull=True
    ).order_by("next_at", "pk")
    known = ReminderClock.objects.values("farm_id")
    new = Channel.objects.filter(on=True, farm__closing_on__isnull=True)
    new = new.exclude(farm_id__in=known).order_by("farm_id")
    return [*due.values_list("farm_id", flat=True), *new.values_list("farm_id", flat=True).distinct()]


def to_send(now: datetime) -> list[int]:
    """Return the open farms with messages to send, or messages whose worker died."""
    rows = Delivery.objects.filter(sendable(now), farm__closing_on__isnull=True).order_by("farm_id")
    return list(rows.values_list("farm_id", flat=True).distinct())


def sendable(now: datetime) -> Q:
    """Return what holds of a delivery that a worker may take."""
    return waiting(now) | lost(now)


def waiting(now: datetime) -> Q:
    """Return what holds of a delivery that waits and may go out."""
    return Q(state=DeliveryState.WAITING, next_try_at__lte=now)


def lost(now: datetime) -> Q:
    """Return what holds of a delivery whose worker died."""
    return Q(state=DeliveryState.SENDING, claimed_at__lt=now - LOST_AFTER)
