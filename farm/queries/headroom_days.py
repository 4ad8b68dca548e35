"""How many more birds of one type could come on each of some days: as stored, or worked out where nothing is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Farm, Housing
from farm.planning.headroom import Cell
from farm.queries import asking, headroom, kinds
from farm.queries.asking import Standing


@dataclass(frozen=True, slots=True)
class Day:
    """One arrival day. birds: so many fit with nobody moved. replanned: the most with others planned anew, None while
    unknown. housing: number of what keeps it from being more, None where no housing takes the type; binds_on: when."""

    arrival: date
    birds: int
    replanned: int | None
    housing: int | None
    binds_on: date | None


@dataclass(frozen=True, slots=True)
class Answer:
    """Days in order. stored: as the background worked them out, so that `replanned` comes. done, of: days planned
    anew, of those that will be."""

    days: tuple[Day, ...]
    stored: bool
    done: int = 0
    of: int = 0


def days(farm: Farm, choice: str, today: date, first: date, count: int) -> Answer:
    """Return `count` arrival days from `first` on for the type that `programmes.choices` calls `choice`.

    Empty for a farm without housing. Raises NotFound for a choice that is none, ValueError for days before today.
    """
    kind = kinds.of(farm, choice, first)
    table = headroom.table(farm, today)
    line = next((line for line in table.lines if line.type == choice), None)
    wanted = range(count)
    if line is not None and table.fresh:
        rows = {cell.day: cell for cell in line.cells}
        cells = [rows[day] for offset in wanted if (day := first + timedelta(days=offset)) in rows]
        found = [
            Day(
                row.day,
                row.birds,
                row.replanned_birds,
                int(row.binding) if row.binding else None,
                row.binding_day,
            )
            for row in cells
        ]
        return Answer(tuple(found), True, table.done, table.of)
    if not Housing.objects.filter(farm=farm).exists():
        return Answer((), False)
    now = asking.adopted(farm, today, until=first + timedelta(days=count), species=[kind.species])
    year = asking.year(now, kind, first, count, held=kinds.held(farm, choice, first, count))
    return Answer(tuple(_fixed(year.cell(0, offset)) for offset in wanted), False)


def _fixed(cell: Cell) -> Day:
    key = cell.housing.key
    return Day(cell.arrival, cell.birds, None, int(key) if key else None, cell.day)


def next_day(now: Standing, farm: Farm, choice: str, birds: int, first: date, count: int) -> date | None:
    """Return the first of `count` arrival days from `first` on which so many fit with nobody moved, None for none."""
    kind = kinds.of(farm, choice, first)
    year = asking.year(now, kind, first, count, held=kinds.held(farm, choice, first, count))
    fits = (year.birds[0] >= birds).nonzero()[0]
    return first + timedelta(days=int(fits[0])) if len(fits) else None
