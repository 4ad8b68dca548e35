"""What days away would change on the rota, before anything is kept: who does what instead, and what nobody could do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from farm import wording
from farm.models import Farm, Member
from farm.models.chore_mark import Round
from farm.phrase import Phrase
from farm.planning.agenda import Item
from farm.planning.rota import CellChange, Unfilled
from farm.planning.rota.records import Key
from farm.planning.window import Window
from farm.queries import agenda, rota
from farm.services.rota import what_if


@dataclass(frozen=True, slots=True)
class Line:
    """Chores of one round in one place that others would do. minutes: of all of them."""

    round: str
    place: str
    before: str
    after: str
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


@dataclass(frozen=True, slots=True)
class Preview:
    """What days away would change. until: the rota is worked out to this day, not including it."""

    days: tuple[tuple[date, tuple[Line, ...]], ...]
    lacking: tuple[Lack, ...]
    until: date

    @property
    def minutes(self) -> int:
        """Return the minutes of all that others would do."""
        return sum(line.minutes for _day, lines in self.days for line in lines)


def of(farm: Farm, today: date, member: Member, start: date, end: date) -> Preview:
    """Return what it would change if `member` were away on the days [start, end). The farm has a rota."""
    rules = rota.rules(farm)
    assert rules is not None, "without a rota nothing changes"
    found = what_if(farm, today, aways=[(member.pk, start, end)])
    names = {str(row.pk): row.name for row in Member.objects.filter(farm=farm)}
    return Preview(
        days=_by_day(found.changes, names),
        lacking=_lacking(farm, today, found.unfilled_before, found.unfilled_after),
        until=today + timedelta(weeks=rules.weeks),
    )


def _by_day(
    changes: Iterable[CellChange], names: Mapping[str, str]
) -> tuple[tuple[date, tuple[Line, ...]], ...]:
    found: dict[date, list[Line]] = {}
    order = list(Round.values)
    for change in sorted(changes, key=lambda one: (one.day, order.index(one.round), one.group)):
        line = Line(
            round=str(Round(change.round).label),
            place=change.group,
            before=_named(change.before, names),
            after=_named(change.after, names),
            minutes=change.minutes,
        )
        found.setdefault(change.day, []).append(line)
    return tuple((day, tuple(lines)) for day, lines in found.items())


def _named(people: Iterable[str], names: Mapping[str, str]) -> str:
    return ", ".join(sorted(names.get(key, key) for key in people))


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
