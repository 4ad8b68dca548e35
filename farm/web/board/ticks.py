"""The days along the top: months, weeks, today."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from farm.planning.window import Window
from farm.web.board.geometry import Scale

_LABEL = 40.0  # least drawing units between two day numbers
_MONTH = 120.0  # least width of a month's name with its year


@dataclass(frozen=True, slots=True)
class Tick:
    """A day at `x`. kind: "month" on the first of one, "week" on the first weekday, "day" otherwise."""

    day: date
    x: float
    kind: str
    labelled: bool


@dataclass(frozen=True, slots=True)
class Month:
    """A month's name above its first day in the window."""

    day: date
    x: float


def ticks(window: Window, first_weekday: int, scale: Scale) -> tuple[Tick, ...]:
    """Return a tick for each week and first of a month, and for each day when days are wide.

    first_weekday: 0 is Monday. Only week starts carry a number where days are narrow.
    """
    every_day = scale.day_width >= _LABEL
    found = []
    for column, day in enumerate(window.dates()):
        week = day.weekday() == first_weekday
        if day.day == 1 or week or every_day:
            kind = "month" if day.day == 1 else "week" if week else "day"
            found.append(Tick(day, scale.x(column), kind, labelled=week or every_day))
    return tuple(found)


def months(window: Window, scale: Scale) -> tuple[Month, ...]:
    """Return where each month's name stands; a first month too short for its name has none."""
    starts = [c for c, day in enumerate(window.dates()) if c == 0 or day.day == 1]
    found = [Month(window.day(column), scale.x(column)) for column in starts]
    if len(found) > 1 and found[1].x - found[0].x < _MONTH:
        found = found[1:]
    if found and scale.x(window.days) - found[-1].x < _MONTH:
        found = found[:-1] or found
    return tuple(found)


def today_at(window: Window, today: date, scale: Scale) -> float | None:
    """Return the left edge of today, None when it is not on the board."""
    column = window.index(today)
    return scale.x(column) if 0 <= column < window.days else None
