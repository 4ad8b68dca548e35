"""Reads of the keeper's own chores."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import ChoreMark, Farm, OwnChore
from farm.phrase import Phrase
from farm.planning import repeats
from farm.planning.agenda import AgendaOwnChore
from farm.planning.repeats import Repeat


@dataclass(frozen=True, slots=True)
class Listed:
    """A chore for the list. repeats: in words, None for once. next_on: when it is due next, None when it is over."""

    chore: OwnChore
    repeats: Phrase | None
    next_on: date | None


def source(chore_id: int) -> str:
    """Return the source that the occurrences of an own chore have."""
    return f"own:{chore_id}/own_chore"


def asks(farm_id: int, source: str) -> str:
    """Return what a tick of an occurrence is asked for; only own chores ask for more than the tick."""
    if not source.startswith("own:"):
        return ""
    key = source.removeprefix("own:").partition("/")[0]
    found = (
        OwnChore.objects.filter(farm_id=farm_id, pk=int(key)) if key.isdecimal() else OwnChore.objects.none()
    )
    return found.values_list("asks", flat=True).first() or ""


def for_agenda(farm: Farm) -> tuple[AgendaOwnChore, ...]:
    """Return the farm's own chores as the agenda wants them. One query."""
    return tuple(
        AgendaOwnChore(
            key=str(row.pk),
            title=row.title,
            start=row.start,
            repeat=rule(row),
            exceptions=exceptions(row),
            round=row.round,
            room=None if row.housing_id is None else str(row.housing_id),
            room_name=row.housing.name if row.housing else row.place,
            minutes=row.minutes,
            who=row.who,
            needs=tuple(row.needs),
            people=2 if row.two_people else 1,
            checklist=tuple(row.checklist),
            care=row.care,
            asks=row.asks,
            begun_on=row.begun_on,
            ended_on=row.ended_on,
        )
        for row in OwnChore.objects.filter(farm=farm).select_related("housing")
    )


def listed(farm: Farm, today: date) -> list[Listed]:
    """Return the farm's own chores, those still due first, by title."""
    rows = [
        Listed(row, None if (repeat := rule(row)) is None else repeats.in_words(repeat), next_on(row, today))
        for row in OwnChore.objects.filter(farm=farm).select_related("housing")
    ]
    return sorted(rows, key=lambda one: (one.next_on is None, one.chore.title.casefold(), one.chore.pk))


def ticked(chore: OwnChore) -> bool:
    """Say whether any of it was ever ticked or left out."""
    return ChoreMark.objects.filter(farm=chore.farm_id, source=source(chore.pk)).exists()


def rule(chore: OwnChore) -> Repeat | None:
    """Return how a chore repeats, None for once."""
    return repeats.parse(chore.repeat) if chore.repeat else None


def exceptions(chore: OwnChore) -> frozenset[date]:
    """Return the days a chore is left out on."""
    return frozenset(map(date.fromisoformat, chore.exceptions))


def next_on(chore: OwnChore, today: date) -> date | None:
    """Return the first day from `today` on that a chore is due; None when there is none."""
    today = max(today, chore.begun_on)
    repeat = rule(chore)
    if repeat is None:
        day: date | None = chore.start if chore.start >= today else None
    else:
        day = repeats.next_day(repeat, chore.start, today - timedelta(days=1), exceptions(chore))
    return None if day is None or (chore.ended_on is not None and day >= chore.ended_on) else day


def has_any(chore: OwnChore) -> bool:
    """Say whether a chore is ever due."""
    return next_on(chore, max(chore.start, chore.begun_on)) is not None
