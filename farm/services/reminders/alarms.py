"""Alerts over the channels that are no letter: the letter to keepers is written as ever, these go out beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from farm import wording
from farm.models import Alert, Farm
from farm.models.notice import NoticeKind
from farm.queries import alerts as words
from farm.queries import reminders as read
from farm.queries.reminders import Reader
from farm.services import locks
from farm.services.actor import local_day
from farm.services.reminders import making, texts, times
from farm.services.reminders.making import Letter

#: An alert still worth a message after this long is one somebody will see on the page. Project default (judgement).
USE = timedelta(hours=24)


def tell(*, farm: Farm, new: Sequence[Alert], over: Sequence[Alert], now: datetime) -> None:
    """Tell the keepers of alerts that are new and of those that no longer hold, each once however often it is asked."""
    if not (new or over):
        return
    with transaction.atomic():
        locked = locks.farm(farm.pk)
        keepers = [one for one in read.readers(locked, local_day(locked, now)) if one.is_keeper]
        making.make(locked, list(_letters(locked, keepers, new, over, now)), now)


def _letters(
    farm: Farm, keepers: Sequence[Reader], new: Sequence[Alert], over: Sequence[Alert], now: datetime
) -> Iterable[Letter]:
    for keeper in keepers:
        with texts.in_words_of(keeper.member):
            for alert in new:
                yield _letter(farm, keeper, alert, "new", wording.say(words.why(alert), farm.units), now)
            for alert in over:
                yield _letter(farm, keeper, alert, "over", _("This no longer holds."), now)


def _letter(farm: Farm, to: Reader, alert: Alert, key: str, body: str, now: datetime) -> Letter:
    due_at = times.told_at(to.wishes, now, times.zone_of(farm))
    return Letter(
        to=to,
        kind=NoticeKind.ALERT,
        key=f"{alert.pk}/{key}",
        subject=wording.say(words.title(alert), farm.units),
        body=body,
        url="/",
        due_at=due_at,
        expires_at=due_at + USE,
        over=read.push_alone(to),
    )
