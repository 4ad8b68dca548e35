"""Days away that something outside the farm tells of, kept beside those people enter by hand.

What a member or keeper entered stays as it is: days from outside only fill what is free. The past is left alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from farm.models import Away, Member
from farm.services import rota_giving
from farm.services.writing import Log

#: Days [start, end).
Span = tuple[date, date]


def replace(log: Log, member: Member, *, outside: str, note: str, spans: Iterable[Span]) -> int:
    """Make the member's days away from `outside` be `spans`, from today on, inside an open write.

    Return how many rows were added, changed or removed. Days that are away already for another reason are left out.
    What was decided for a member on days that are new no longer holds.
    """
    today = log.by.today
    rows = list(Away.objects.filter(farm=log.farm, member=member, end__gt=today))
    mine = [row for row in rows if row.outside == outside]
    others = [(row.start, row.end) for row in rows if row.outside != outside]
    wanted = without([(max(start, today), end) for start, end in spans if end > today], others)
    begun = next((row for row in mine if row.start < today), None)
    if begun is not None:  # the days of it that are over stay, whatever is said now
        if wanted and wanted[0][0] == today:
            wanted[0] = (begun.start, wanted[0][1])
        else:
            wanted.insert(0, (begun.start, today))
    return _settle(log, member, mine, wanted, outside, note[:100])


def make_room(log: Log, member: Member, start: date, end: date) -> None:
    """Take [start, end) out of the member's days from outside, inside an open write: somebody enters them by hand.

    The history does not tell of it: once the days entered go, those from outside are worked out again.
    """
    rows = Away.objects.filter(farm=log.farm, member=member, start__lt=end, end__gt=start)
    for row in rows.exclude(outside=""):
        row.delete()
        for left, right in without([(row.start, row.end)], [(start, end)]):
            piece = Away(
                farm=log.farm, member=member, start=left, end=right, outside=row.outside, note=row.note
            )
            piece.save(force_insert=True)


def without(spans: Iterable[Span], taken: Iterable[Span]) -> list[Span]:
    """Return what is left of spans, in order, when the days of others are taken out of them."""
    left = sorted(span for span in spans if span[0] < span[1])
    for start, end in taken:
        parts = [((a, min(b, start)), (max(a, end), b)) for a, b in left]
        left = [part for pair in parts for part in pair if part[0] < part[1]]
    return left


def _settle(
    log: Log, member: Member, mine: Sequence[Away], wanted: Sequence[Span], outside: str, note: str
) -> int:
    """Keep rows that are as wanted, change those that begin on a wanted day, remove and add the rest."""
    ends, count = dict(wanted), 0
    for row in mine:
        end = ends.pop(row.start, None)
        if end is None:
            log.remove(row)
            count += 1
        elif (row.end, row.note) != (end, note):
            _new_days(log, member, row.end, end)
            log.change(row, end=end, note=note)
            count += 1
    for start, end in ends.items():
        _new_days(log, member, start, end)
        log.add(Away(farm=log.farm, member=member, start=start, end=end, outside=outside, note=note))
    return count + len(ends)


def _new_days(log: Log, member: Member, start: date, end: date) -> None:
    start = max(start, log.by.today)
    if start < end:
        rota_giving.let_go_in(log, member, start, end)
