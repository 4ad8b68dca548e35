"""Word of a swap to whoever is asked, and of the answer to whoever asked."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from farm.models import Swap
from farm.models.notice import NoticeKind
from farm.models.rota import SwapState
from farm.queries import reminders as read
from farm.queries.reminders import Reader
from farm.services import locks
from farm.services.actor import local_day
from farm.services.reminders import making, texts, times
from farm.services.reminders.making import Letter


def swap_news(swap: Swap, now: datetime) -> None:
    """Tell of a swap as it stands: who is asked of an offer or that it was withdrawn, who offered it of the answer."""
    hears = swap.taker_id if swap.state in (SwapState.OFFERED, SwapState.WITHDRAWN) else swap.giver_id
    with transaction.atomic():
        farm = locks.farm(swap.farm_id)
        for one in read.readers(farm, local_day(farm, now)):
            if one.member.pk == hears:
                making.make(farm, [_letter(swap, one, now)], now)


def _letter(swap: Swap, to: Reader, now: datetime) -> Letter:
    zone = times.zone_of(to.member.farm)
    due_at = times.told_at(to.wishes, now, zone)
    last = max(swap.give_day, swap.take_day or swap.give_day)
    over = times.instant(last + timedelta(days=1), datetime.min.time(), zone)
    with texts.in_words_of(to.member):
        subject, body = _subject(swap), "\n".join(_lines(swap, to))
    return Letter(
        to=to,
        kind=NoticeKind.SWAP,
        key=f"{swap.pk}/{swap.state}",
        subject=subject,
        body=body,
        url=texts.my_page(),
        due_at=due_at,
        expires_at=max(over, due_at + times.USE),
    )


def _subject(swap: Swap) -> str:
    texts_by_state = {
        SwapState.OFFERED: _("%(giver)s asks you to swap a round"),
        SwapState.WITHDRAWN: _("%(giver)s no longer asks for a swap"),
        SwapState.ACCEPTED: _("%(taker)s takes your round"),
        SwapState.DECLINED: _("%(taker)s can't take your round"),
    }
    return texts_by_state[SwapState(swap.state)] % {"giver": swap.giver.name, "taker": swap.taker.name}


def _lines(swap: Swap, to: Reader) -> list[str]:
    """Return what is given and what is taken for it, as the reader sees it."""
    asked = to.member.pk == swap.taker_id
    given = {"day": texts.weekday_day(swap.give_day), "round": texts.round_name(swap.give_round)}
    lines = [
        (_("You would do: %(day)s, %(round)s") if asked else _("Your round: %(day)s, %(round)s")) % given
    ]
    if swap.take_day is not None:
        taken = {"day": texts.weekday_day(swap.take_day), "round": texts.round_name(swap.take_round)}
        lines.append(
            (_("They would do: %(day)s, %(round)s") if asked else _("For it: %(day)s, %(round)s")) % taken
        )
    return lines
