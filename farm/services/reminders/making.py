"""Messages are made once: the same one asked for again is the one that is there."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from farm import dispatch
from farm.models import Channel, Delivery, Farm, Notice
from farm.models.notice import DeliveryState, NoticeKind
from farm.queries.reminders import Reader


@dataclass(frozen=True, slots=True)
class Letter:
    """A message before it is made. key: names it among the member's of its kind. url: on this site, from "/".

    due_at: when it may go out. expires_at: from when on it is of no use. over: the channels, None for all in use.
    """

    to: Reader
    kind: NoticeKind
    key: str
    subject: str
    body: str
    url: str
    due_at: datetime
    expires_at: datetime
    over: tuple[Channel, ...] | None = None

    @property
    def channels(self) -> tuple[Channel, ...]:
        """Return the channels it goes over."""
        return self.to.channels if self.over is None else self.over


def make(farm: Farm, letters: Sequence[Letter], now: datetime, *, send: bool = True) -> list[Notice]:
    """Make the messages that are not there yet, with one delivery for each channel, and have them sent.

    Call it inside a transaction that holds the farm's lock. One that is of no use any more is made too, but not sent:
    people see that it came too late. send: False when the caller sends them. Returns the new ones.
    """
    there = _there(farm, letters)
    new: dict[tuple[int, str, str], Letter] = {}
    for letter in letters:
        name = (letter.to.member.pk, str(letter.kind), letter.key)
        if name not in there and letter.channels:
            new.setdefault(name, letter)
    if not new:
        return []
    notices = Notice.objects.bulk_create([_notice(farm, letter, now) for letter in new.values()])
    Delivery.objects.bulk_create(_deliveries(farm, zip(notices, new.values(), strict=True), now))
    if send and any(letter.due_at <= now < letter.expires_at for letter in new.values()):
        dispatch.after_commit("send_waiting", farm_id=farm.pk)
    return notices


def _there(farm: Farm, letters: Sequence[Letter]) -> set[tuple[int, str, str]]:
    keys = {letter.key for letter in letters}
    if not keys:
        return set()
    rows = Notice.objects.filter(farm=farm, key__in=keys)
    return set(rows.values_list("member_id", "kind", "key"))


def _notice(farm: Farm, letter: Letter, now: datetime) -> Notice:
    return Notice(
        farm=farm,
        member=letter.to.member,
        kind=letter.kind,
        key=letter.key,
        subject=letter.subject[:200],
        body=letter.body[:8000],
        url=letter.url,
        made_at=now,
        due_at=letter.due_at,
        expires_at=letter.expires_at,
    )


def _deliveries(farm: Farm, pairs: Iterable[tuple[Notice, Letter]], now: datetime) -> list[Delivery]:
    return [
        Delivery(
            farm=farm,
            notice=notice,
            channel=channel,
            state=DeliveryState.WAITING if letter.expires_at > now else DeliveryState.LATE,
            next_try_at=letter.due_at,
        )
        for notice, letter in pairs
        for channel in letter.channels
    ]
