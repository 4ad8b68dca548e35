"""A farm's agenda: what has to be done on which day, and what of it was done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Batch, ChoreMark, Farm, Stay
from farm.planning import agenda
from farm.planning.agenda import AgendaBatch, AgendaStay, Item
from farm.planning.window import Window
from farm.queries import heads, programmes

#: How far back a step still open on its own window's last day may have begun.
_OPEN_DAYS = 60


@dataclass(frozen=True, slots=True)
class Due:
    """One item of the agenda with its mark, if it has one."""

    item: Item
    mark: ChoreMark | None

    @property
    def open(self) -> bool:
        """Say whether it is still to do."""
        return self.mark is None


def for_farm(farm: Farm, window: Window, today: date) -> tuple[Item, ...]:
    """Return all steps and chores due in the window, sorted by day, round, housing and title."""
    batches, stays = _inputs(farm, today)
    return agenda.agenda(batches, stays, window)


def marks(farm: Farm, window: Window) -> dict[tuple[str, date, str], ChoreMark]:
    """Return the marks of occurrences due in the window, by (source, due, round)."""
    rows = ChoreMark.objects.filter(farm=farm, due__gte=window.start, due__lt=window.end).select_related(
        "member"
    )
    return {(row.source, row.due, row.round): row for row in rows}


def due_on(farm: Farm, day: date, today: date) -> tuple[list[Due], list[Due]]:
    """Return what is due on `day`, and the steps from before it that are still open in their window or overdue.

    Routine chores of past days are not carried over: what was missed yesterday morning is done this morning anyway.
    """
    window = Window(day - timedelta(days=_OPEN_DAYS), _OPEN_DAYS + 1)
    done = marks(farm, window)
    now: list[Due] = []
    before: list[Due] = []
    for item in for_farm(farm, window, today):
        due = Due(item, done.get(item.occurrence))
        if item.due == day:
            now.append(due)
        elif item.kind == "step" and due.open and _still_matters(item, day):
            before.append(due)
    return now, before


def for_batch(batch: Batch, today: date, days: int) -> list[Due]:
    """Return the steps of one batch from its hatch day on for `days` days of age, with their marks."""
    start = min(batch.hatch_day, batch.arrived_on) - timedelta(days=2)
    window = Window(start, days)
    batches, stays = _inputs(batch.farm, today, batch)
    done = marks(batch.farm, window)
    return [Due(item, done.get(item.occurrence)) for item in agenda.steps(batches, stays, window)]


def _still_matters(item: Item, day: date) -> bool:
    """A step stays on the list through its window, and for a week when it has none."""
    until = item.until or item.due + timedelta(days=7)
    return day < until


def _inputs(farm: Farm, today: date, only: Batch | None = None) -> tuple[list[AgendaBatch], list[AgendaStay]]:
    rows = (
        Batch.objects.filter(farm=farm)
        .select_related("programme_version")
        .prefetch_related("count_entries", "stays__housing")
    )
    if only is not None:
        rows = rows.filter(pk=only.pk)
    batches, stays = [], []
    for row in rows:
        if sum(entry.birds for entry in row.count_entries.all()) <= 0 and only is None:
            continue
        batches.append(_batch(row))
        stays += [_stay(stay, birds) for stay, birds in _with_birds(row)]
    return batches, stays


def _with_birds(row: Batch) -> list[tuple[Stay, int]]:
    """Return the stays with the birds they really start with: losses may have left a planned stay fewer."""
    stays = list(row.stays.all())
    short = heads.clipped(row)
    return [
        (stay, stay.birds - short.get(stay.pk, 0)) for stay in stays if stay.birds > short.get(stay.pk, 0)
    ]


def _batch(row: Batch) -> AgendaBatch:
    return AgendaBatch(
        key=str(row.pk),
        name=row.name,
        species=row.species,
        hatch_day=row.hatch_day,
        programme=programmes.of(row),
        sex=row.sex,
        source=row.source,
        arrived_on=row.arrived_on,
    )


def _stay(stay: Stay, birds: int) -> AgendaStay:
    housing = stay.housing
    return AgendaStay(
        key=str(stay.pk),
        batch=str(stay.batch_id),
        room=str(housing.pk),
        room_name=housing.name,
        start=stay.start,
        end=_end(stay),
        birds=birds,
        indoor=housing.indoor,
        heated=housing.heated,
        rest_days=housing.rest_days,
    )


def _end(stay: Stay) -> date | None:
    gone = stay.batch.leaves_on
    if gone is None or (stay.end is not None and stay.end <= gone) or gone <= stay.start:
        return stay.end
    return gone
