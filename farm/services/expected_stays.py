"""The planned stays of an expected batch, when its day or number changes and when its birds are here."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from datetime import date

from farm.errors import BadInput
from farm.models import Batch, Housing, Stay
from farm.queries.planned import is_fixed
from farm.services import batch_rules, moves, stays
from farm.services.writing import Log


def follow(log: Log, batch: Batch, was: date, *, later: bool = True) -> None:
    """Carry the stays along from the arrival day `was` to the batch's. Raises BadInput when one cannot be there.

    later: not only those that begin on the first day.
    """
    for stay, start, end in _moved(batch, was):
        if not later and stay.start != was:
            continue
        if end is not None and end <= start:
            log.remove(stay)
            continue
        stay_then, same = _as(stay, start, end), (start, end) == (stay.start, stay.end)
        moves.make_way(log, stay_then)
        batch_rules.check_place(stay_then, since=log.by.today if same else None)
        log.change(stay, start=start, end=end)


def settle(log: Log, batch: Batch, was: date) -> None:
    """Carry the stays along with birds that are here now; where one cannot move, all keep their days as planned.

    All or none: were one to end later and the next to begin as before, its birds would not be free for it. As planned
    none begins before the birds came; nobody else was planned in on those days.
    """
    found = list(_moved(batch, was))
    follows = all(
        (start, end) == (stay.start, stay.end) or _possible(log, stay, start, end)
        for stay, start, end in found
        if end is None or end > start
    )
    for stay, start, end in found:
        first, last = (start, end) if follows else (max(stay.start, batch.arrived_on), stay.end)
        if last is None or last > first:
            log.change(stay, start=first, end=last)
        else:
            log.remove(stay)


def resize(log: Log, batch: Batch, was: int, birds: int) -> None:
    """Let stays of the whole batch hold its new number. Parts keep theirs: fewer birds fill them as far as they go."""
    for stay in batch.stays.filter(birds=was).exclude(birds=birds):
        log.change(stay, birds=birds)


def put(log: Log, batch: Batch, housing: Housing | None, birds: int) -> None:
    """Let all birds begin in `housing`, None for where they are planned. Raises BadInput at housing_id."""
    if housing is None:
        return
    firsts = list(batch.stays.filter(start=batch.arrived_on))
    if len(firsts) == 1 and firsts[0].housing_id == housing.pk:
        return
    later = [stay.start for stay in batch.stays.exclude(start=batch.arrived_on)]
    end = min(
        (stay.end for stay in firsts if stay.end is not None), default=min(later, default=batch.leaves_on)
    )
    for stay in firsts:
        log.remove(stay)
    try:
        stays.add_in(log, batch=batch, housing=housing, birds=birds, start=batch.arrived_on, end=end)
    except BadInput as refused:
        texts = [text for found in refused.fields.values() for text in found]
        raise BadInput({"housing_id": texts}) from refused


def mark_begun(log: Log, batch: Batch) -> None:
    """Say of the stays whose first day has come that they have happened."""
    for stay in batch.stays.filter(start__lte=log.by.today, actual=False):
        log.change(stay, actual=True)


def _moved(batch: Batch, was: date) -> Iterator[tuple[Stay, date, date | None]]:
    """Yield each stay with the days it has when the arrival moves from `was` to the batch's.

    Days move as far as the arrival does, except those on which a fixed stay begins or ends and the day the birds leave.
    No stay begins before the arrival.
    """
    found = list(batch.stays.select_related("batch__programme_version", "housing"))
    fixed = {day for stay in found if is_fixed(stay) for day in (stay.start, stay.end)} | {batch.leaves_on}

    def then(day: date) -> date:
        if day == was:
            return batch.arrived_on
        return day if day in fixed else day + (batch.arrived_on - was)

    for stay in found:
        stay.batch = batch
        end = None if stay.end is None else then(stay.end)
        yield stay, max(then(stay.start), batch.arrived_on), end


def _possible(log: Log, stay: Stay, start: date, end: date | None) -> bool:
    stay_then = _as(stay, start, end)
    moves.make_way(log, stay_then)
    try:
        batch_rules.check_place(stay_then)
    except BadInput:
        return False
    return True


def _as(stay: Stay, start: date, end: date | None) -> Stay:
    wanted = copy.copy(stay)
    wanted.start, wanted.end = start, end
    return wanted
