"""What days away would change on the rota, before anything is kept: who does what instead, and what nobody could do."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from farm import wording
from farm.models import Farm, Member
from farm.models.chore_mark import Round
from farm.phrase import Phrase
from farm.planning.agenda import Item
from farm.planning.rota import CellChange, Unfilled
from farm.planning.rota.records import Key
from farm.planning.window import Window
from farm.queries import agenda, rota
from farm.services import rota as service


@dataclass(frozen=True, slots=True)
class Name:
    """Somebody of a line. moves: they are on one side of it alone."""

    name: str
    moves: bool


@dataclass(frozen=True, slots=True)
class Line:
    """Chores of one round in one place that others would do. minutes: of all of them."""

    round: str
    place: str
    before: tuple[Name, ...]
    after: tuple[Name, ...]
    minutes: int


@dataclass(frozen=True, slots=True)
class Lack:
    """A chore that nobody, or one too few, could do. would_fill: what would help, the least first."""

    day: date
    round: str
    title: str
    place: str
    reason: Phrase
    would_fill: tuple[Phrase, ...]


Days = tuple[tuple[date, tuple[Line, ...]], ...]


@dataclass(frozen=True, slots=True)
class Preview:
    """What days away would change.

    days: on those very days. others: on days before and after, so that shares stay fair. until: the rota is worked out
    to this day, not including it.
    """

    days: Days
    others: Days
    lacking: tuple[Lack, ...]
    until: date

    @property
    def changes(self) -> int:
        """Return how many rounds in one place would change on the days away."""
        return _count(self.days)

    @property
    def other_changes(self) -> int:
        """Return how many would change on other days."""
        return _count(self.others)


def of(farm: Farm, member: Member, start: date, end: date, *, today: date, now: datetime) -> Preview:
    """Return what it would change if `member` were away on the days [start, end). The farm has a rota."""
    return of_spans(farm, member, [(start, end)], today=today, now=now)


def of_spans(
    farm: Farm, member: Member, spans: Collection[tuple[date, date]], *, today: date, now: datetime
) -> Preview:
    """Return what it would change if `member` were away on all of the days of `spans`. The farm has a rota."""
    rules = rota.rules(farm)
    assert rules is not None, "without a rota nothing changes"
    closed = service.closed_rounds(farm, now)
    found = service.what_if(farm, today, aways=[(member.pk, *span) for span in spans], closed=closed)
    changes = found.changes
    names = {str(row.pk): row.name for row in Member.objects.filter(farm=farm)}
    return Preview(
        days=_by_day([one for one in changes if _in(spans, one.day)], names),
        others=_by_day([one for one in changes if not _in(spans, one.day)], names),
        lacking=_lacking(farm, today, found.unfilled_before, found.unfilled_after),
        until=today + timedelta(weeks=rules.weeks),
    )


def _in(spans: Iterable[tuple[date, date]], day: date) -> bool:
    return any(start <= day < end for start, end in spans)


def _count(days: Days) -> int:
    return sum(len(lines) for _day, lines in days)


def _by_day(changes: Iterable[CellChange], names: Mapping[str, str]) -> Days:
    found: dict[date, list[Line]] = {}
    order = list(Round.values)
    for change in sorted(changes, key=lambda one: (one.day, order.index(one.round), one.group)):
        line = Line(
            round=str(Round(change.round).label),
            place=change.group,
            before=_named(change.before, change.after, names),
            after=_named(change.after, change.before, names),
            minutes=change.minutes,
        )
        found.setdefault(change.day, []).append(line)
    return tuple((day, tuple(lines)) for day, lines in found.items())


def _named(people: Iterable[str], others: Collection[str], names: Mapping[str, str]) -> tuple[Name, ...]:
    found = [Name(names.get(key, key), key not in others) for key in people]
    return tuple(sorted(found, key=lambda one: one.name))


def _lacking(
    farm: Farm, today: date, before: Iterable[Unfilled], after: Iterable[Unfilled]
) -> tuple[Lack, ...]:
    """Return what is short of hands and was not, or by fewer."""
    short = {one.key: one.missing for one in before}
    new = [one for one in after if one.missing > short.get(one.key, 0)]
    if not new:
        return ()
    items = _items(farm, today, [one.key for one in new])
    return tuple(
        Lack(
            day=item.due,
            round=str(Round(item.round).label),
            title=wording.say(item.title, farm.units),
            place=item.room_name,
            reason=one.reason,
            would_fill=one.would_fill,
        )
        for one in new
        if (item := items.get(one.key)) is not None
    )


def _items(farm: Farm, today: date, keys: Iterable[Key]) -> dict[Key, Item]:
    last = max(due for _source, due, _round in keys)
    window = Window(today, max((last - today).days + 1, 1))
    return {item.occurrence: item for item in agenda.for_farm(farm, window, today)}
