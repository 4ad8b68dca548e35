"""Hollow Farm with people who can be told something: channels that lead to the test's letter box, and wishes."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.core import mail

from farm.models import Channel, ChoreMark, Delivery, Farm, Member, Notice, ReminderWishes
from farm.models.notice import ChannelKind
from farm.services.actor import Actor
from farm.services.channels import NotSent, sealing
from farm.services.reminders import look, sending
from tests.conftest import NOON, TODAY, World

BERLIN = ZoneInfo("Europe/Berlin")
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)


def at(clock: str, days: int = 0) -> datetime:
    """Return the instant of a Berlin clock time, so many days from TODAY."""
    return datetime.combine(TODAY + days * DAY, time.fromisoformat(clock), tzinfo=BERLIN).astimezone(UTC)


def channel(member: Member, kind: str = ChannelKind.EMAIL, **fields: Any) -> Channel:
    """Give a member a channel, past all checks."""
    to = f"{member.name.lower()}@example.org"
    fields = {"label": to, "address": sealing.seal(to)} | fields
    return Channel.objects.create(farm_id=member.farm_id, member=member, kind=kind, **fields)


def wishes(member: Member, **fields: Any) -> ReminderWishes:
    """Say what a member wants; nothing but what is given."""
    times = ("morning_at", "midday_at", "evening_at", "quiet_from", "quiet_to", "outlook_at")
    fields = {"changed": False, "missed": False} | fields
    fields |= {name: time.fromisoformat(fields[name]) for name in times if isinstance(fields.get(name), str)}
    return ReminderWishes.objects.create(farm_id=member.farm_id, member=member, **fields)


def told(by: Actor, **wanted: Any) -> Channel:
    """Give an actor a channel and wishes."""
    assert by.member is not None
    wishes(by.member, **wanted)
    return channel(by.member)


def chicks(world: World, **fields: Any) -> None:
    """Two weeks old, under heat in Brooder 1."""
    world.add_batch("Browns", housing="Brooder 1", **fields)


def begin(world: World, when: datetime) -> datetime:
    """Look at the farm for the first time."""
    return look.look(farm_id=world.farm.pk, now=when)


def pass_time(world: World, start: datetime, until: datetime) -> list[datetime]:
    """Look whenever the farm says, and send what waits each time; return when it was looked."""
    looked, now = [], start
    while now <= until:
        looked.append(now)
        now = step(world, now)
    step(world, until)
    return looked


def step(world: World, now: datetime) -> datetime:
    """Look once and send once at one instant; return when to look next."""
    again = look.look(farm_id=world.farm.pk, now=now)
    sending.send_waiting(farm_id=world.farm.pk, now=lambda: now)
    return again


def letters() -> list[tuple[str, str]]:
    """Return (first word of the address, subject) of what was sent, and forget it."""
    found = [(letter.to[0].split("@")[0], letter.subject) for letter in mail.outbox]
    mail.outbox.clear()
    return found


def subjects(by: Actor | Member) -> list[str]:
    """Return what was made for a member, the oldest first."""
    member = by.member if isinstance(by, Actor) else by
    return list(
        Notice.objects.filter(member=member).order_by("due_at", "pk").values_list("subject", flat=True)
    )


def states(farm: Farm) -> list[str]:
    return list(Delivery.objects.filter(farm=farm).order_by("pk").values_list("state", flat=True))


def tick(world: World, item: Any, when: datetime = NOON) -> ChoreMark:
    """Mark an item done, past all services."""
    source, due, round = item.occurrence
    return ChoreMark.objects.create(
        farm=world.farm, source=source, due=due, round=round, title=str(item.title), state="done", at=when
    )


class Sender:
    """A channel that answers as the test says: each time the next of `answers`, None for a message that leaves."""

    def __init__(self, *answers: NotSent | None) -> None:
        self.answers, self.sent = list(answers), []

    def send(self, address: str, message: Any, timeout: float) -> None:
        answer = self.answers.pop(0) if self.answers else None
        if answer is not None:
            raise answer
        self.sent.append((address, message))


def refuses(
    text: str = "The mail server was away.", *, lasting: bool = False, wait_s: int | None = None
) -> NotSent:
    return NotSent(text, lasting=lasting, wait_s=wait_s)
