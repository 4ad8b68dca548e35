"""Who can be told what: people with wishes and channels, and the farm's work with whose it is, read once for all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Away, Channel, Delivery, Farm, Member, ReminderWishes
from farm.models.member import Role
from farm.models.notice import ChannelKind, DeliveryState
from farm.planning.agenda import Item
from farm.planning.window import Window
from farm.queries import rota, rounds
from farm.queries.agenda import Due
from farm.queries.rounds import Rounds

#: Minutes after a round's time until others hear of a chore that was missed, where the farm has no rota to say it.
#: Project default (judgement).
MISSED_AFTER = 90


@dataclass(frozen=True, slots=True)
class Reader:
    """A member who can be told something. channels: those in use, at least one. wishes None: they said nothing yet."""

    member: Member
    wishes: ReminderWishes | None
    channels: tuple[Channel, ...]
    aways: tuple[Away, ...] = ()

    @property
    def is_keeper(self) -> bool:
        """Say whether they plan and decide."""
        return self.member.role == Role.KEEPER

    def is_away(self, day: date) -> bool:
        """Say whether they are away on a day."""
        return any(one.start <= day < one.end for one in self.aways)


@dataclass(frozen=True, slots=True)
class Task:
    """One occurrence that is open. whose: the members it is given to; nobody: it should be given to one and is not."""

    item: Item
    whose: tuple[int, ...] = ()
    nobody: bool = False


class Work:
    """What is open on some days of a farm, for everybody."""

    def __init__(self, rounds: Rounds) -> None:
        self._rounds = rounds
        self._all = _by_round(_task(rounds, due) for due in rounds.dues if due.open)
        self._of: dict[int, dict[tuple[date, str], list[Task]]] = {}

    def all(self, day: date, name: str) -> list[Task]:
        """Return all that is open in a round."""
        return self._all.get((day, name), [])

    def of(self, member: Member, day: date, name: str) -> list[Task]:
        """Return what a member has to do in a round; what nobody has is shown to the keepers who may do it."""
        mine = self._of.get(member.pk)
        if mine is None:
            shares = [share for share in self._rounds.of(member) if share.due.open]
            mine = self._of[member.pk] = _by_round(
                Task(share.due.item, _given(self._rounds, share.due), share.nobody) for share in shares
            )
        return mine.get((day, name), [])


def readers(farm: Farm, today: date) -> list[Reader]:
    """Return the members of the farm who have a channel in use, by name. Four queries."""
    channels: dict[int, list[Channel]] = defaultdict(list)
    for channel in Channel.objects.filter(farm=farm, on=True):
        channels[channel.member_id].append(channel)
    if not channels:
        return []
    people = Member.objects.filter(farm=farm, pk__in=channels, left_on__isnull=True).select_related("login")
    wishes = {row.member_id: row for row in ReminderWishes.objects.filter(farm=farm)}
    aways: dict[int, list[Away]] = defaultdict(list)
    for away in Away.objects.filter(farm=farm, end__gte=today - timedelta(days=2)):
        aways[away.member_id].append(away)
    return [
        Reader(one, wishes.get(one.pk), tuple(channels[one.pk]), tuple(aways[one.pk]))
        for one in people.order_by("name", "pk")
    ]


def work(farm: Farm, first: date, days: int, today: date) -> Work:
    """Return what is open on `days` days from `first`: the farm's agenda is worked out once, whoever asks."""
    # From a day earlier: a window that begins today would look for steps of the last weeks, which no round is about.
    return Work(rounds.read(farm, Window(first - timedelta(days=1), days + 1), today))


def missed_after(farm: Farm) -> timedelta:
    """Return how long after a round's time a chore counts as missed."""
    rules = rota.rules(farm)
    return timedelta(minutes=rules.missed_after if rules is not None else MISSED_AFTER)


def of_member(member: Member) -> list[Channel]:
    """Return a member's channels, the oldest first."""
    return list(Channel.objects.filter(farm_id=member.farm_id, member=member))


def wishes_of(member: Member) -> ReminderWishes | None:
    """Return what a member wants to be told, None when they never said."""
    return ReminderWishes.objects.filter(farm_id=member.farm_id, member=member).first()


def undelivered(farm_id: int, limit: int = 200) -> list[Delivery]:
    """Return what did not reach people on this farm, the latest first."""
    rows = Delivery.objects.filter(farm_id=farm_id, state__in=(DeliveryState.DEAD, DeliveryState.LATE))
    return list(rows.select_related("notice__member", "channel").order_by("-notice__due_at", "-pk")[:limit])


def push_alone(reader: Reader) -> tuple[Channel, ...]:
    """Return the channels for what a member gets as a letter already; one without a login gets no letter."""
    if reader.member.login_id is None:
        return reader.channels
    return tuple(one for one in reader.channels if one.kind != ChannelKind.EMAIL)


def _task(rounds: Rounds, due: Due) -> Task:
    """Return an occurrence as nobody in particular sees it."""
    given, out = _given(rounds, due), rounds.out
    short = out is not None and out.start <= due.item.due < out.end and not given and bool(due.item.minutes)
    return Task(due.item, given, short)


def _given(rounds: Rounds, due: Due) -> tuple[int, ...]:
    return tuple(rounds.given.get(due.item.occurrence, ()))


def _by_round(tasks: Iterable[Task]) -> dict[tuple[date, str], list[Task]]:
    found: dict[tuple[date, str], list[Task]] = defaultdict(list)
    for task in tasks:
        found[task.item.due, task.item.round].append(task)
    return dict(found)
