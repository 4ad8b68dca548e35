"""Seven days of a farm's work by day, round and member, with what nobody does: for the grid and the printed sheet."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from farm.models import Farm, Member, RotaRules
from farm.planning.agenda import ROUNDS
from farm.planning.rota.records import Key
from farm.planning.window import Window
from farm.queries import rota_people, rota_problem, rota_rows
from farm.queries.agenda import Due
from farm.queries.rota_short import Short, short

DAYS = 7


@dataclass(frozen=True, slots=True)
class Work:
    """One occurrence and who does it. members: numbers, first seat first. missing: hands nobody offers, 0 where it is
    done, past, or not given out. group: its place. pinned: of the members, whom people decided on."""

    due: Due
    members: tuple[int, ...]
    missing: int
    group: str
    pinned: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days, or `count`, from `first`.

    members: those on the farm and those with work in the week, by name. works: all that is due, as the agenda sorts it.
    cells: work by (day, round, number of the member); what was done though nobody was given it is with whoever did it.
    nobody: work short of hands, by (day, round). away: (number of the member, day)s. why: what the last rota said of
    work short of hands; work new since then is not in it.
    """

    first: date
    members: tuple[Member, ...]
    works: tuple[Work, ...]
    cells: Mapping[tuple[date, str, int], tuple[Work, ...]]
    nobody: Mapping[tuple[date, str], tuple[Work, ...]]
    away: frozenset[tuple[int, date]]
    why: Mapping[Key, Short]
    rounds: tuple[str, ...] = ROUNDS
    count: int = DAYS

    @property
    def days(self) -> tuple[date, ...]:
        """Return its days in order."""
        return Window(self.first, self.count).dates()

    def minutes(self, day: date | None = None, member: int | None = None) -> int:
        """Return the minutes given to people on a day, or on all; to one member, or to all."""
        return sum(
            work.due.item.minutes
            for (on, _, who), works in self.cells.items()
            if day in (None, on) and member in (None, who)
            for work in works
        )


def week(farm: Farm, first: date, today: date, count: int = DAYS) -> Week:
    """Return the seven days, or `count`, from `first`, past or to come.

    Without a rota nobody is given anything, nor is missing.
    """
    days, rules = Window(first, count), rota_rows.rules(farm)
    dues = rota_rows.dues(farm, days, today)
    given = rota_rows.assigned(farm, days) if rules is not None else {}
    pinned = (
        rota_rows.pins(farm, rota_rows.first_due((due.item for due in dues), first))
        if rules is not None
        else {}
    )
    places = rota_rows.places(farm)
    out = rota_problem.window(rules, today) if rules is not None else None
    works = tuple(
        Work(
            due,
            seats := given.get(due.item.occurrence, ()),
            _missing(due, len(seats), out),
            rota_rows.group_of(due.item, places),
            frozenset(pinned.get(due.item.occurrence, ())) & frozenset(seats),
        )
        for due in dues
    )
    return Week(
        first=first,
        members=_members(farm, works),
        works=works,
        cells=_cells(works),
        nobody=_nobody(works),
        away=_away(farm, days),
        why=_why(rules, works),
        count=count,
    )


def _missing(due: Due, seats: int, out: Window | None) -> int:
    """Return the hands lacking for an occurrence. out: the days given out, None without a rota."""
    item = due.item
    if out is None or not due.open or not item.minutes or not out.start <= item.due < out.end:
        return 0
    return max(0, item.people - seats)


def _members(farm: Farm, works: Iterable[Work]) -> tuple[Member, ...]:
    busy = {member for work in works for member in _who(work)}
    rows = Member.objects.filter(farm=farm)
    return tuple(row for row in rows if row.left_on is None or row.pk in busy)


def _who(work: Work) -> tuple[int, ...]:
    mark = work.due.mark
    if work.members or mark is None or mark.member_id is None:
        return work.members
    return (mark.member_id,)


def _cells(works: Iterable[Work]) -> dict[tuple[date, str, int], tuple[Work, ...]]:
    found: dict[tuple[date, str, int], list[Work]] = defaultdict(list)
    for work in works:
        for member in _who(work):
            found[work.due.item.due, work.due.item.round, member].append(work)
    return {key: tuple(rows) for key, rows in found.items()}


def _nobody(works: Iterable[Work]) -> dict[tuple[date, str], tuple[Work, ...]]:
    found: dict[tuple[date, str], list[Work]] = defaultdict(list)
    for work in works:
        if work.missing:
            found[work.due.item.due, work.due.item.round].append(work)
    return {key: tuple(rows) for key, rows in found.items()}


def _away(farm: Farm, days: Window) -> frozenset[tuple[int, date]]:
    return frozenset(
        (member, day)
        for member, spans in rota_people.aways(farm, days.start).items()
        for day in days.dates()
        if any(start <= day < end for start, end in spans)
    )


def _why(rules: RotaRules | None, works: Iterable[Work]) -> dict[Key, Short]:
    known = short(rules)
    keys = [work.due.item.occurrence for work in works if work.missing]
    return {key: known[key] for key in keys if key in known}
