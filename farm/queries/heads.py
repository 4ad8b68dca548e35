"""How many birds are where, from a batch's ledger and stays."""

from __future__ import annotations

from datetime import date
from itertools import accumulate

from farm.models import Batch, CountEntry, Stay
from farm.planning import heads
from farm.planning.window import Window


def lines(entries: list[CountEntry]) -> list[heads.Line]:
    """Return count entries as ledger lines; housings are keyed by number."""
    return [heads.Line(entry.day, entry.birds, _key(entry.housing_id)) for entry in entries]


def spans(stays: list[Stay]) -> list[heads.Stay]:
    """Return stays as the planning parts know them, keyed by number."""
    return [
        heads.Stay(str(stay.pk), str(stay.housing_id), stay.start, stay.end, stay.birds) for stay in stays
    ]


def alive_on(batch: Batch, day: date) -> int:
    """Return the birds of `batch` alive at the end of `day`."""
    return sum(entry.birds for entry in batch.count_entries.all() if entry.day <= day)


def least_alive_from(batch: Batch, day: date) -> int:
    """Return the fewest birds of `batch` alive at the end of any day from `day` on: so many could have left on it."""
    by_day = dict[date, int]()
    for entry in batch.count_entries.all():
        by_day[max(entry.day, day)] = by_day.get(max(entry.day, day), 0) + entry.birds
    return min(accumulate(by_day[each] for each in sorted(by_day)), default=0)


def gone_on(batch: Batch) -> date | None:
    """Return the day the last bird left a batch, None while there are birds or more to come."""
    entries = list(batch.count_entries.all())
    if not entries or sum(entry.birds for entry in entries) > 0:
        return None
    total, gone = 0, entries[0].day
    by_day: dict[date, int] = {}
    for entry in entries:
        by_day[entry.day] = by_day.get(entry.day, 0) + entry.birds
    for day, change in sorted(by_day.items()):
        if change and total + change == 0:
            gone = day
        total += change
    return gone


def first_day_below_zero(batch: Batch, adding: tuple[date, int] | None = None) -> tuple[date, int] | None:
    """Return the first day on which the ledger sums to less than no birds, and by how many; None when it never does.

    adding: a day and a signed number of birds judged as if it stood in the ledger already.
    """
    total, by_day = 0, dict[date, int]()
    for day, birds in [*batch.count_entries.values_list("day", "birds"), *([adding] if adding else [])]:
        by_day[day] = by_day.get(day, 0) + birds
    for day, change in sorted(by_day.items()):
        total += change
        if total < 0:
            return day, -total
    return None


def clipped(batch: Batch) -> dict[int, int]:
    """Return, by stay number, how many of its birds a stay could not get on its first day; only those short."""
    stays = list(batch.stays.all())
    taken = heads.taken(lines(list(batch.count_entries.all())), spans(stays))
    return {stay.pk: stay.birds - taken[str(stay.pk)] for stay in stays if taken[str(stay.pk)] < stay.birds}


def clipped_by_losses(batch: Batch) -> dict[int, int]:
    """Return, by stay number, how many of its birds a stay lacks only because birds were lost; only those short.

    With every bird alive it would have them: nobody else has taken them.
    """
    stays, ledger = list(batch.stays.all()), lines(list(batch.count_entries.all()))
    there = heads.taken(ledger, spans(stays))
    alive = heads.taken([line for line in ledger if line.birds > 0], spans(stays))
    return {
        stay.pk: alive[str(stay.pk)] - there[str(stay.pk)]
        for stay in stays
        if there[str(stay.pk)] < alive[str(stay.pk)]
    }


def on(stay: Stay, day: date) -> int:
    """Return the birds in `stay` at the end of `day`."""
    held, _ = heads.by_stay(
        lines(list(stay.batch.count_entries.all())), spans(list(stay.batch.stays.all())), Window(day, 1)
    )
    return int(held[str(stay.pk)][0])


def places_on(batch: Batch, day: date) -> tuple[list[tuple[Stay, int]], int]:
    """Return the stays of `batch` that hold birds on `day` with how many, and the birds without housing."""
    stays = list(batch.stays.all())
    held, unhoused = heads.by_stay(lines(list(batch.count_entries.all())), spans(stays), Window(day, 1))
    found = [(stay, int(held[str(stay.pk)][0])) for stay in stays if held[str(stay.pk)][0]]
    return found, int(unhoused[0])


def _key(housing_id: int | None) -> str | None:
    return None if housing_id is None else str(housing_id)
