"""Batches as their list and pages read them: how many are alive, where they are, and what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from farm.models import Batch, CountEntry, Farm, Housing, Stay
from farm.planning.agenda import Item
from farm.queries import agenda, heads, survival, tally
from farm.queries.tally import Tally

CURRENT, EXPECTED, GONE = "current", "expected", "gone"
PLANNED, GOING_ON, OVER = "planned", "going on", "over"


@dataclass(frozen=True, slots=True)
class Place:
    """A housing with the birds of a batch in it."""

    housing: Housing
    birds: int


@dataclass(frozen=True, slots=True)
class Summary:
    """One batch on a day.

    tally: up to that day, of an expected batch the birds to come. places, unhoused: of an expected batch on its first
    day. gone_on: the day its last bird left. losses: against what is usual, None before any bird came.
    """

    batch: Batch
    state: str
    tally: Tally
    places: tuple[Place, ...]
    unhoused: int
    gone_on: date | None
    losses: survival.Row | None
    next: Item | None


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the ledger with the birds alive after it. struck: it was taken back, or takes one back."""

    entry: CountEntry
    alive: int
    struck: bool

    @property
    def size(self) -> int:
        """Return its birds without a sign."""
        return abs(self.entry.birds)


@dataclass(frozen=True, slots=True)
class Stint:
    """One stay on a day. birds: in it that day. lacking: of its birds, those not there when it begins."""

    stay: Stay
    state: str
    birds: int
    lacking: int

    @property
    def shown(self) -> int:
        """Return the birds in it now, or that it began or will begin with."""
        return self.birds if self.state == GOING_ON else self.stay.birds - self.lacking


def listing(farm: Farm, today: date) -> list[Summary]:
    """Return every batch of the farm by hatch day, however many in a steady number of queries."""
    coming = agenda.next_steps(farm, today)
    return [summary(batch, today, coming.get(batch.pk)) for batch in rows(farm)]


def in_state(farm: Farm, state: str, today: date) -> list[int]:
    """Return the numbers of the farm's batches that are in a state on a day."""
    return [batch.pk for batch in rows(farm) if summary(batch, today).state == state]


def whole(farm: Farm, pk: int) -> Batch:
    """Return a batch of the farm with its ledger, stays and programme read along. Raises Batch.DoesNotExist."""
    return rows(farm).get(pk=pk)


def summary(batch: Batch, today: date, coming: Item | None = None) -> Summary:
    """Return a batch, its ledger and stays read along, as it is on a day. coming: its next step."""
    gone = heads.gone_on(batch)
    state = _state(batch, gone, today)
    held, unhoused = heads.places_on(batch, max(today, batch.arrived_on))
    by_housing: dict[int, Place] = {}
    for stay, birds in held:
        before = by_housing.get(stay.housing_id)
        by_housing[stay.housing_id] = Place(stay.housing, birds + (before.birds if before else 0))
    entries = list(batch.count_entries.all())
    return Summary(
        batch=batch,
        state=state,
        tally=tally.tally(entries, None if state == EXPECTED else today),
        places=tuple(by_housing.values()),
        unhoused=unhoused,
        gone_on=gone,
        losses=_losses(batch, entries, gone, today),
        next=None if state == GONE else coming,
    )


def ledger(batch: Batch) -> list[Line]:
    """Return the lines of a batch's ledger, newest first."""
    entries = list(batch.count_entries.select_related("housing", "member"))
    counting = {entry.pk for entry in tally.standing(entries)}
    total, lines = 0, list[Line]()
    for entry in entries:
        total += entry.birds
        lines.append(Line(entry, total, entry.pk not in counting))
    return lines[::-1]


def stays(batch: Batch, today: date) -> list[Stint]:
    """Return a batch's stays by their first day, with the birds in them on the day."""
    held = {stay.pk: birds for stay, birds in heads.places_on(batch, today)[0]}
    lacking = heads.clipped(batch)
    return [
        Stint(stay, when(stay, today), held.get(stay.pk, 0), lacking.get(stay.pk, 0))
        for stay in batch.stays.all()
    ]


def _state(batch: Batch, gone: date | None, today: date) -> str:
    if batch.expected:
        return EXPECTED
    if gone is not None and gone <= today:
        return GONE
    return EXPECTED if batch.arrived_on > today else CURRENT


def _losses(batch: Batch, entries: list[CountEntry], gone: date | None, today: date) -> survival.Row | None:
    lines = [line for line in tally.standing(entries) if line.day <= today and not batch.expected]
    return survival.row(batch, lines, min(today, gone or today)) if lines else None


def when(stay: Stay, today: date) -> str:
    """Return whether a stay is planned, going on or over on a day."""
    if stay.start > today:
        return PLANNED
    return OVER if stay.end is not None and stay.end <= today else GOING_ON


def rows(farm: Farm) -> QuerySet[Batch]:
    """Return the farm's batches with what `summary` needs of each."""
    return (
        Batch.objects.filter(farm=farm)
        .select_related("farm", "programme_version__programme", "egg_set", "intake")
        .prefetch_related("count_entries", "stays__housing")
    )
