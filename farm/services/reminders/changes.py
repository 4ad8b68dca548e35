"""Rounds that changed: gathered for a while, so that a rota worked out five times is one message about what is left.

What is gathered stands in a message without deliveries, as JSON in its body; one a member, by its key. Once its time
has come, `close` puts it into words, gives it a key of its own and has it sent.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from farm.models import Farm, Notice
from farm.models.notice import NoticeKind
from farm.planning.rota.records import CellChange
from farm.queries import reminders as read
from farm.queries.reminders import Reader
from farm.services import locks
from farm.services.actor import local_day
from farm.services.reminders import clock, making, texts, times
from farm.services.reminders.making import Letter

GATHERING = "gathering"
#: All project default (judgement): who plans changes several things in a row; a message every two hours is enough;
#: later days are told by the week ahead; after a day the pages say it better.
SETTLES = timedelta(minutes=5)
PAUSE = timedelta(hours=2)
DAYS_AHEAD = 7
USE = timedelta(hours=24)


def note(*, farm_id: int, cells: Sequence[CellChange], now: datetime, but: int | None = None) -> None:
    """Gather what changed for the members of the cells, who are named by their numbers.

    but: the member who made the change and knows. Raises NotFound for a farm that is gone.
    """
    with transaction.atomic():
        farm = locks.farm(farm_id)
        today = local_day(farm, now)
        near = [cell for cell in cells if today <= cell.day < today + timedelta(days=DAYS_AHEAD)]
        told = [
            one
            for one in read.readers(farm, today)
            if one.wishes is not None and one.wishes.changed and one.member.pk != but
        ]
        dues = [_gather(farm, one, theirs, now) for one in told if (theirs := _of(one, near))]
        if dues:
            clock.soon(farm.pk, min(dues))


def close(farm: Farm, readers: Sequence[Reader], now: datetime) -> datetime | None:
    """Put into words and send what was gathered and is due; return when the next is, None without one.

    Call it inside a transaction that holds the farm's lock.
    """
    by_member = {one.member.pk: one for one in readers if one.wishes is not None and one.wishes.changed}
    later = []
    for notice in Notice.objects.filter(farm=farm, kind=NoticeKind.CHANGED, key=GATHERING):
        if notice.due_at > now:
            later.append(notice.due_at)
            continue
        to, gathered = by_member.get(notice.member_id), json.loads(notice.body)
        notice.delete()
        if to is not None and (letter := _letter(farm, to, gathered, notice.due_at, now)) is not None:
            making.make(farm, [letter], now)
    return min(later, default=None)


def _of(to: Reader, cells: Sequence[CellChange]) -> dict[str, list[int | str]]:
    """Return what the cells say to a member: +1 for a new one, -1 for one that is no longer theirs, and its minutes."""
    key = str(to.member.pk)
    found: dict[str, list[int | str]] = {}
    for cell in cells:
        turn = (key in cell.after) - (key in cell.before)
        if turn:
            found[f"{cell.day.isoformat()}/{cell.round}/{cell.group}"] = [turn, cell.minutes]
    return found


def _gather(farm: Farm, to: Reader, cells: dict[str, list[int | str]], now: datetime) -> datetime:
    """Add cells to what is gathered for a member and return when it will be told."""
    known = Notice.objects.filter(farm=farm, member=to.member, kind=NoticeKind.CHANGED, key=GATHERING).first()
    if known is None:
        due = _when(farm, to, now)
        known = Notice(
            farm=farm,
            member=to.member,
            kind=NoticeKind.CHANGED,
            key=GATHERING,
            url=texts.my_page(),
            made_at=now,
            due_at=due,
            expires_at=due + USE,
            body="{}",
        )
    known.body = json.dumps(_merged(json.loads(known.body), cells))
    known.save()
    return known.due_at


def _merged(old: dict[str, list], new: dict[str, list]) -> dict[str, list]:
    """Return both together: what was taken and given back again is nothing."""
    found = dict(old)
    for cell, (turn, minutes) in new.items():
        sum_ = found.pop(cell, [0, 0])[0] + turn
        if sum_:
            found[cell] = [max(-1, min(1, sum_)), minutes]
    return found


def _when(farm: Farm, to: Reader, now: datetime) -> datetime:
    """Return when a member hears of a change made now: soon, not twice within two hours, not in their quiet hours."""
    last = (
        Notice.objects.filter(farm=farm, member=to.member, kind=NoticeKind.CHANGED)
        .order_by("-due_at")
        .first()
    )
    at = now + SETTLES if last is None else max(now + SETTLES, last.due_at + PAUSE)
    return times.told_at(to.wishes, at, times.zone_of(farm))


def _letter(
    farm: Farm, to: Reader, gathered: dict[str, list], due_at: datetime, now: datetime
) -> Letter | None:
    today = local_day(farm, now)
    with texts.in_words_of(to.member):
        new = [_line(cell, said) for cell, said in _still_ahead(gathered, today) if said[0] > 0]
        gone = [_line(cell, said) for cell, said in _still_ahead(gathered, today) if said[0] < 0]
        parts = [(_("New for you:"), new), (_("No longer yours:"), gone)]
        body = "\n\n".join("\n".join([title, *lines]) for title, lines in parts if lines)
        subject = _("Your rounds have changed")
    if not body:
        return None
    key = due_at.isoformat()
    return Letter(to, NoticeKind.CHANGED, key, subject, body, texts.my_page(), due_at, due_at + USE)


def _still_ahead(gathered: dict[str, list], today: date) -> list[tuple[str, list]]:
    """Return what was gathered about today and later, by day and round."""
    order = ("morning", "midday", "evening")
    rows = [(cell, said) for cell, said in gathered.items() if date.fromisoformat(cell[:10]) >= today]
    return sorted(rows, key=lambda row: (row[0][:10], order.index(row[0].split("/")[1]), row[0]))


def _line(cell: str, said: list) -> str:
    day, name, group = cell.split("/", 2)
    values = {
        "day": texts.weekday_day(date.fromisoformat(day)),
        "round": texts.round_name(name),
        "place": group,
        "minutes": texts.minutes(said[1]),
    }
    if not group:
        return _("%(day)s, %(round)s (%(minutes)s)") % values
    return _("%(day)s, %(round)s: %(place)s (%(minutes)s)") % values
