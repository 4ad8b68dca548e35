"""The rows of the rota: replaced where a rota worked out anew differs, one by one where people decide."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime

from django.db.models import Q
from django.dispatch import Signal

from farm.models import Assignment, Farm
from farm.planning.rota.records import Assigned, CellChange, Key, RotaJob
from farm.queries.rota_problem import Asked

#: Sent when people are given other work than before, before the write is committed: farm, changes (`CellChange`s whose
#: people are members' numbers as text), now, by_member (number of whoever decided it, None where it was worked out).
rota_changed = Signal()


def replace(farm: Farm, asked: Asked, assigned: Assigned, today: date) -> bool:
    """Make the rows from today on those of `assigned`, and say whether any differed.

    Rows of what is marked, or was in a round that is over, stay, and so do those of past days. Must be called under
    the farm's lock.
    """
    jobs = {job.key: job for job in asked.problem.jobs}
    rows = _standing(farm, jobs, today)
    kept = asked.closed | asked.marked
    old, new = list[int](), list[Assignment]()
    for key in {*rows, *jobs}:
        if key not in jobs:
            old += [row.pk for row in rows[key] if key not in kept]
            continue
        there = {row.seat: row for row in rows.get(key, ())}
        for seat, row in _wanted(farm, jobs[key], assigned.get(key, ()), there.values()).items():
            before = there.pop(seat, None)
            if before is None or _said(before) != _said(row):
                new.append(row)
                old += [] if before is None else [before.pk]
        old += [row.pk for row in there.values()]
    Assignment.objects.filter(pk__in=old).delete()
    Assignment.objects.bulk_create(sorted(new, key=lambda row: (row.day, row.source, row.round, row.seat)))
    return bool(old or new)


def tell(farm: Farm, changes: Sequence[CellChange], now: datetime, by_member: int | None = None) -> None:
    """Send `rota_changed` when there is anything to tell."""
    if changes:
        rota_changed.send(None, farm=farm, changes=tuple(changes), now=now, by_member=by_member)


def seats(people: Sequence[int], before: Mapping[int, int]) -> dict[int, int]:
    """Return who sits on which seat: those who were there keep theirs. before: members by seat."""
    found = {seat: member for seat, member in before.items() if member in people and seat < len(people)}
    free = [seat for seat in range(len(people)) if seat not in found]
    return found | dict(zip(free, (each for each in people if each not in found.values()), strict=True))


def _standing(farm: Farm, jobs: Mapping[Key, RotaJob], today: date) -> dict[Key, list[Assignment]]:
    """Return the rows from today on and those of the jobs, which may have been put off since."""
    since = min((key[1] for key in jobs), default=today)
    found: dict[Key, list[Assignment]] = defaultdict(list)
    for row in Assignment.objects.filter(Q(day__gte=today) | Q(due__gte=since), farm=farm):
        key = (row.source, row.due, row.round)
        if row.day >= today or key in jobs:
            found[key].append(row)
    return found


def _wanted(
    farm: Farm, job: RotaJob, people: Sequence[str], there: Iterable[Assignment]
) -> dict[int, Assignment]:
    places = seats([int(each) for each in people], {row.seat: row.member_id for row in there})
    return {seat: made(farm, job, seat, member) for seat, member in places.items()}


def made(farm: Farm, job: RotaJob, seat: int, member: int) -> Assignment:
    """Return the row, not saved yet, by which a member has a seat of a job."""
    source, due, round = job.key
    return Assignment(
        farm=farm,
        source=source,
        due=due,
        round=round,
        seat=seat,
        member_id=member,
        day=job.day,
        minutes=job.minutes,
    )


def _said(row: Assignment) -> tuple[int, date, int]:
    return row.member_id, row.day, row.minutes
