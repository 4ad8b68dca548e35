"""Light of a housing over a year: hours of sun, hours the lamps add, and how the timer is set."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from farm.models import Farm, Housing
from farm.models.housing import Light
from farm.queries import light
from farm.queries.light import Hours, Shown

WIDTH, HEIGHT, LEFT, TOP, FLOOR = 640.0, 260.0, 48.0, 16.0, 220.0
_HOURS, _STEP = 24, 6
#: What is drawn, and for how long the timer is listed. Project default (judgement).
_YEAR_DAYS, _WEEKS = 365, 12


@dataclass(frozen=True, slots=True)
class Month:
    """The first day of a month: a row of the table, and where it stands in the drawing. added: hours of lamps."""

    x: float
    hours: Hours
    added: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """The section of the housing's page. why_not: what is lacking, "" when nothing is: "place", "birds" or "north".

    sun, lamps: points of the two areas, one above the other; of a closed house lamps alone.
    """

    why_not: str
    shown: Shown | None = None
    closed: bool = False
    sun: str = ""
    lamps: str = ""
    months: tuple[Month, ...] = ()
    levels: tuple[tuple[float, int], ...] = ()

    width, height, left, right, floor = WIDTH, HEIGHT, LEFT, WIDTH - 8, FLOOR


def draw(housing: Housing, farm: Farm, today: date) -> Drawn | None:
    """Return the light of a housing; None where it has no light programme."""
    if housing.light == Light.NONE:
        return None
    if not light.has_place(farm):
        return Drawn("place")
    shown = light.shown(housing, farm, today, _WEEKS, _YEAR_DAYS)
    if shown is None:
        return Drawn("birds")
    if not shown.hours:
        return Drawn("north", shown)
    closed = housing.light == Light.CLOSED
    hours = shown.hours
    natural = [0.0 if closed else each.natural for each in hours]
    wanted = [each.wanted for each in hours]
    return Drawn(
        "",
        shown,
        closed,
        sun="" if closed else _area(natural, [0.0] * len(hours)),
        lamps=_area([max(pair) for pair in zip(natural, wanted, strict=True)], natural),
        months=tuple(
            Month(_x(place, len(hours)), each, max(each.wanted - natural[place], 0.0))
            for place, each in enumerate(hours)
            if place == 0 or each.day.day == 1
        ),
        levels=tuple((_y(level), level) for level in range(0, _HOURS + 1, _STEP)),
    )


def _area(upper: list[float], lower: list[float]) -> str:
    days = len(upper)
    there = [(_x(day, days), _y(value)) for day, value in enumerate(upper)]
    back = [(_x(day, days), _y(value)) for day, value in reversed(list(enumerate(lower)))]
    return _points([*there, *back])


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in points)


def _x(day: int, days: int) -> float:
    return round(LEFT + (WIDTH - 8 - LEFT) * day / max(days - 1, 1), 1)


def _y(hours: float) -> float:
    return round(FLOOR - (FLOOR - TOP) * hours / _HOURS, 1)
