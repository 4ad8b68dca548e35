"""How many more birds could come: the types a farm keeps, and the table as it was last worked out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Batch, Farm, Headroom
from farm.planning import problem as planning
from farm.planning.problem import Arrival
from farm.queries import programmes
from farm.queries.planned import new_batch
from farm.queries.planning import Rows, is_gone
from farm.queries.weather import Sky
from farm.trade.programme import Programme

#: Arrival days looked at, and every how many of them others are planned anew too. Project default (judgement).
DAYS, REPLANNED_EVERY, REPLANNED_DAYS = 365, 7, 182
_SIZE = 100  # any count stands for the type


@dataclass(frozen=True, slots=True)
class Line:
    """One type's days, in order from the first. name: of its programme."""

    type: str
    name: str
    cells: tuple[Headroom, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """The farm's headroom. fresh: it is of the farm as it is now. done, of: days planned anew, and how many will be."""

    lines: tuple[Line, ...]
    fresh: bool
    done: int
    of: int


def types(read: Rows, today: date) -> tuple[planning.Batch, ...]:
    """Return the types in use, each as a batch that stands for it: those of batches here or expected, by key.

    They come as chicks and leave at the age the farm's newest batch of the type leaves at; without one they stay.
    """
    found: dict[str, planning.Batch] = {}
    batches = [batch for batch in read.batches if not is_gone(batch, today)]
    for batch in sorted(batches, key=lambda row: (row.hatch_day, row.pk)):
        key = choice(batch)
        known = found.get(key)
        leaves = None if batch.leaves_on is None else (batch.leaves_on - batch.hatch_day).days
        if leaves is None and known is not None:
            leaves = known.leave_age_days
        programme = programmes.of(batch)
        found[key] = new_batch(
            programme,
            key=key,
            name=programme.name,
            birds=_SIZE,
            arrival=Arrival(today),
            leave_age_days=leaves,
        )
    return tuple(found[key] for key in sorted(found))


def held(sky: Sky | None, programme: Programme, first: date, days: int) -> tuple[date | None, ...]:
    """Return for each chick arriving on `days` days from `first` when the nights let it outdoors; None: by age alone.

    Asked of one day in seven: those before it wait as long as it does, which is the safe side.
    """
    if sky is None:
        return (None,) * days
    ends = [sky.held_back(programme, first + timedelta(days=end)) for end in range(0, days + 7, 7)]
    return tuple(ends[-(-day // 7)] for day in range(days))


def held_types(read: Rows, today: date, days: int = DAYS) -> dict[str, tuple[date | None, ...]]:
    """Return the same for each type in use, by key; nothing where the farm has no climate."""
    if read.sky is None:
        return {}
    batches = [batch for batch in read.batches if not is_gone(batch, today)]
    found = {
        choice(batch): programmes.of(batch)
        for batch in sorted(batches, key=lambda row: (row.hatch_day, row.pk))
    }
    return {key: held(read.sky, programme, today, days) for key, programme in found.items()}


def choice(batch: Batch) -> str:
    """Return what a batch follows, as `programmes.choices` names it."""
    programme = batch.programme_version.programme
    return str(programme.pk) if programme.edited else programme.built_in


def table(farm: Farm, today: date, days: int = DAYS) -> Table:
    """Return the table from today on as it is stored, empty when it was never worked out."""
    cells = list(
        Headroom.objects.filter(farm=farm, day__gte=today, day__lt=today + timedelta(days=days)).defer("plan")
    )
    by_type: dict[str, list[Headroom]] = {}
    for cell in cells:
        by_type.setdefault(cell.type, []).append(cell)
    names = dict(programmes.choices(farm.pk))
    wanted = [cell for cell in cells if is_replanned_day(cell.day, today)]
    return Table(
        lines=tuple(Line(key, names.get(key, key), tuple(found)) for key, found in by_type.items()),
        fresh=_fresh(cells, farm, today),
        done=sum(cell.replanned_birds is not None for cell in wanted),
        of=len(wanted),
    )


def is_replanned_day(day: date, today: date) -> bool:
    """Say whether others are planned anew for arrivals on a day: one in seven, half a year ahead."""
    return day < today + timedelta(days=REPLANNED_DAYS) and day.toordinal() % REPLANNED_EVERY == 0


def _fresh(cells: Sequence[Headroom], farm: Farm, today: date) -> bool:
    return bool(cells) and cells[0].day == today and all(cell.farm_version == farm.version for cell in cells)
