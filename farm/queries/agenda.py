"""A farm's agenda: what has to be done on which day, and what of it was done."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from farm.models import Batch, ChoreMark, Farm, Member
from farm.models.batch import BatchSource
from farm.models.member import Role
from farm.planning.agenda import Item
from farm.planning.window import Window
from farm.queries import agenda_records
from farm.queries.agenda_records import OPEN_DAYS, Occurrence

_HAND_OVER = re.compile(r"line:\d+/hand_over(/|$)")


@dataclass(frozen=True, slots=True)
class Due:
    """One item of the agenda with its mark, if it has one."""

    item: Item
    mark: ChoreMark | None

    @property
    def open(self) -> bool:
        """Say whether it is still to do."""
        return self.mark is None


@dataclass(frozen=True, slots=True)
class DayWork:
    """One day of a farm.

    due: what is due that day. before: steps from earlier days that are still open and still matter. kept: marks of
    that day whose chore the agenda no longer has, because a batch or stay has changed since. caught_up: steps from
    earlier days that were marked on this one.
    """

    due: tuple[Due, ...]
    before: tuple[Due, ...]
    kept: tuple[ChoreMark, ...]
    caught_up: tuple[Due, ...] = ()


def for_farm(farm: Farm, window: Window, today: date) -> tuple[Item, ...]:
    """Return all steps and chores to be done in the window, sorted by day, round, housing and title."""
    return agenda_records.read(farm, window, today).agenda(window)


def marks(farm: Farm, window: Window) -> dict[Occurrence, ChoreMark]:
    """Return the marks of occurrences first due in the window, by (source, due, round)."""
    rows = ChoreMark.objects.filter(farm=farm, due__gte=window.start, due__lt=window.end).select_related(
        "member"
    )
    return {(row.source, row.due, row.round): row for row in rows}


def on_day(farm: Farm, day: date, today: date) -> DayWork:
    """Return what is due on `day`, the steps from before it that are still open, and marks without a chore.

    Routine chores of past days are not carried over: what was missed yesterday morning is done this morning anyway.
    """
    window = Window(day - timedelta(days=OPEN_DAYS), OPEN_DAYS + 1)
    records = agenda_records.read(farm, window, today)
    items = records.agenda(Window(day, 1))
    earlier = records.steps(Window(window.start, OPEN_DAYS))
    old = records.still_open(window.start)
    done = marks(farm, records.span) | _marks_of(farm, old)
    known = {item.occurrence for item in items} | records.put_off
    return DayWork(
        due=tuple(Due(item, done.get(item.occurrence)) for item in items),
        before=tuple(
            Due(item, None)
            for item in (*old, *earlier)
            if item.occurrence not in done and _still_matters(item, day)
        ),
        kept=tuple(mark for key, mark in done.items() if mark.due == day and key not in known),
        caught_up=tuple(
            Due(item, done[item.occurrence])
            for item in (*old, *earlier)
            if item.occurrence in done and _local_day(done[item.occurrence], farm) == day
        ),
    )


def find(farm: Farm, source: str, due: date, round: str, today: date) -> Due | None:
    """Return one occurrence with its mark, None when the agenda has no such one (any more).

    due, round: when it was first due; the item says when it is to be done now.
    """
    item = agenda_records.read(farm, Window(due, 1), today).find((source, due, round))
    return None if item is None else Due(item, marks(farm, Window(due, 1)).get(item.occurrence))


def is_shown(member: Member, source: str) -> bool:
    """Say whether a member is shown what comes from a source: whom birds are handed over to is not for children."""
    return member.role != Role.CHILD or not _HAND_OVER.match(source)


def next_steps(farm: Farm, today: date, days: int = 60) -> dict[int, Item]:
    """Return the next open step of each batch from today on, by its number; batches without one are left out."""
    window = Window(today, days)
    records = agenda_records.read(farm, window, today, of_batches=True)
    done = marks(farm, records.span)
    found: dict[int, Item] = {}
    for item in records.steps(window):
        for key in item.batches:
            if item.occurrence not in done:
                found.setdefault(int(key), item)
    return found


def for_batch(batch: Batch, today: date, days: int) -> list[Due]:
    """Return the steps of one batch from its hatch day on for `days` days of age, with their marks.

    Of one that is still in its eggs, those of the eggs too.
    """
    start = min(batch.hatch_day, batch.arrived_on) - timedelta(days=2)
    if batch.expected and batch.source == BatchSource.OWN_HATCH:
        start, days = batch.egg_set.set_on, days + (start - batch.egg_set.set_on).days
    window = Window(start, days)
    records = agenda_records.read(batch.farm, window, today, batch)
    done = marks(batch.farm, records.span)
    return [Due(item, done.get(item.occurrence)) for item in records.steps(window)]


def _marks_of(farm: Farm, items: Sequence[Item]) -> dict[Occurrence, ChoreMark]:
    """Return the marks of some items, however long ago they were due."""
    if not items:
        return {}
    rows = ChoreMark.objects.filter(farm=farm, source__in={item.source for item in items})
    found = {(row.source, row.due, row.round): row for row in rows.select_related("member")}
    return {item.occurrence: found[item.occurrence] for item in items if item.occurrence in found}


def _local_day(mark: ChoreMark, farm: Farm) -> date:
    return mark.at.astimezone(ZoneInfo(farm.time_zone)).date()


def _still_matters(item: Item, day: date) -> bool:
    """A step stays on the list through its window, for a week when it has none; some until it is recorded."""
    if item.open_ended:
        return True
    until = item.until or item.due + timedelta(days=7)
    return day < until
