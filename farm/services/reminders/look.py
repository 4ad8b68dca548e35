"""One look at a farm: everything due is made, and the next look is set. Safe to run twice, and late."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction

from farm.models import Farm, ReminderClock
from farm.models.notice import NoticeKind
from farm.queries import reminders as read
from farm.queries.reminders import Reader, Work
from farm.services import locks
from farm.services.actor import local_day
from farm.services.reminders import changes, clock, digests, making, missed, outlooks
from farm.services.reminders.making import Letter
from farm.services.reminders.moments import Moment, due, moments, next_after

#: What fell due longer ago while nobody looked is not even made. Project default (judgement).
LOOK_BACK = timedelta(hours=24)
_DAY = timedelta(days=1)


def look(*, farm_id: int, now: datetime) -> datetime:
    """Make everything of a farm that is due and return when to look next. Raises NotFound for a farm that is gone."""
    with transaction.atomic():
        farm = locks.farm(farm_id)
        today = local_day(farm, now)
        readers = read.readers(farm, today)
        found = moments(farm, readers, today - 2 * _DAY, today + 3 * _DAY, read.missed_after(farm))
        now_due = due(found, _since(farm, now), now)
        making.make(farm, letters(farm, readers, now_due, now), now)
        gathered = changes.close(farm, readers, now)
        again = min(filter(None, (next_after(found, now), gathered, now + clock.LOOK_AGAIN)))
        clock.set_next(farm, again)
    return again


def letters(farm: Farm, readers: Sequence[Reader], now_due: Sequence[Moment], now: datetime) -> list[Letter]:
    """Return what the moments that are due have to say; the farm's work is read once for all of them."""
    if not now_due:
        return []
    work = work_for(farm, now_due, now)
    return [
        *digests.letters(farm, work, [one for one in now_due if one.kind == NoticeKind.ROUND]),
        *outlooks.letters(farm, work, [one for one in now_due if one.kind == NoticeKind.OUTLOOK]),
        *missed.letters(farm, readers, work, [one for one in now_due if one.kind == NoticeKind.MISSED], now),
    ]


def work_for(farm: Farm, now_due: Sequence[Moment], now: datetime) -> Work:
    """Return the farm's open work of all days that the moments are about."""
    first = min(moment.day for moment in now_due)
    last = max(
        moment.day + (outlooks.DAYS - 1) * _DAY if moment.kind == NoticeKind.OUTLOOK else moment.day
        for moment in now_due
    )
    return read.work(farm, first, (last - first).days + 1, local_day(farm, now))


def _since(farm: Farm, now: datetime) -> datetime:
    """Return from when on the farm owes its reminders: nothing before the last look was left out."""
    known = ReminderClock.objects.filter(farm=farm).first()
    return now if known is None else max(min(known.next_at, now), now - LOOK_BACK)
