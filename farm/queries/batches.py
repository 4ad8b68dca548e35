"""Batches as their list and pages read them: how many are alive, where, and what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from farm.models import Batch, CountEntry, Farm, Housing, Stay
from farm.planning import heads
from farm.planning.agenda import Item
from farm.planning.window import Window
from farm.queries import agenda, tally
from farm.queries import heads as head_rows
from farm.queries.tally import Tally

CURRENT, EXPECTED, GONE = "current", "expected", "gone"


@dataclass(frozen=True, slots=True)
class Place:
    """A housing that holds birds of a batch on a day, or will first."""

    housing: Housing
    birds: int


@dataclass(frozen=True, slots=True)
class Summary:
    """One batch on a day. first: the place an expected batch comes to; gone_on: the day its last bird left."""

    batch: Batch
    state: str
    tally: Tally
    places: tuple[Place, ...]
    unhoused: int
    first: Place | None = None
    gone_on: date | None = None
    next: Item | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the ledger with the birds alive after its day. struck: it was taken back, or takes one back."""

    entry: CountEntry
    alive: int
    struck: bool


@dataclass(frozen=True, slots=True)
class Stint:
    """One stay on a day. birds: in it now, once it has begun; lacking: of its birds that are not there to begin it."""

    stay: Stay
    state: str
    birds: int
    lacking: int


def listing(farm: Farm, today: date) -> list[Summary]:
    """Return every batch of the farm by hatch day, however many in a fixed number of queries."""
    coming = agenda.next_steps(farm, today)
    return [summary(batch, today, coming.get(batch.pk)) for batch in _rows(farm)]


def whole(farm: Farm, pk: int) -> Batch:
    """Return a batch of the farm with its ledger, stays and programme read along. Raises Batch.DoesNotExist."""
    return _rows(farm).get(pk=pk)


def summary(batch: Batch, today: date, coming: Item | None = None) -> Summary:
    """Return a batch with its ledger and stays read along as it is on a day."""
    gone = head_rows.gone_on(batch)
    state = GONE if gone is not None and gone <= today else EXPECTED if batch.arrived_on > today else CURRENT
    rows = list(batch.stays.all())
    entries = list(batch.count_entries.all())
    held, free = heads.by_stay(head_rows.lines(entries), head_rows.spans(rows), Window(today, 1))
    return Summary(
        batch=batch,
        state=state,
        tally=tally.tally(entries, None if state == EXPECTED else today),
        places=tuple(
            Place(stay.housing, int(held[str(stay.pk)][0])) for stay in rows if held[str(stay.pk)][0]
        ),
        unhoused=int(free[0]),
        first=Place(rows[0].housing, rows[0].birds) if state == EXPECTED and rows else None,
        gone_on=gone,
        next=None if state == GONE else coming,
    )


def ledger(batch: Batch) -> list[Line]:
    """Return the lines of a batch's ledger, newest first."""
    entries = list(batch.count_entries.select_related("housing", "member", "reversed_by"))
    counting = {entry.pk for entry in tally.standing(entries)}
    total, lines = 0, []
    for entry in entries:
        total += entry.birds
        lines.append(Line(entry, total, entry.pk not in counting))
    return lines[::-1]


def stays(batch: Batch, today: date) -> list[Stint]:
    """Return a batch's stays by their first day: over, going on or planned, with the birds in them on the day."""
    rows = list(batch.stays.all())
    lines = head_rows.lines(list(batch.count_entries.all()))
    held, _free = heads.by_stay(lines, head_rows.spans(rows), Window(today, 1))
    lacking = head_rows.clipped(batch)
    return [
        Stint(stay, _state(stay, today), int(held[str(stay.pk)][0]), lacking.get(stay.pk, 0)) for stay in rows
    ]


def free_name(farm: Farm, pattern: str) -> str:
    """Return the first of `pattern % {"number": n}` that no batch of the farm has, n from the number of batches on."""
    taken = {name.casefold() for name in Batch.objects.filter(farm=farm).values_list("name", flat=True)}
    number = len(taken) + 1
    while (pattern % {"number": number}).casefold() in taken:
        number += 1
    return pattern % {"number": number}


def _state(stay: Stay, today: date) -> str:
    if stay.start > today:
        return "planned"
    return "over" if stay.end is not None and stay.end <= today else "going on"


def _rows(farm: Farm) -> QuerySet[Batch]:
    return (
        Batch.objects.filter(farm=farm)
        .select_related("farm", "programme_version__programme")
        .prefetch_related("count_entries", "stays__housing")
    )
