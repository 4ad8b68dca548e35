"""How the odds of a line went, day by day: a small drawing, and the same in numbers. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from farm.models import LineOdds
from farm.web.orders import wording

WIDTH, HEIGHT, PADDING = 320.0, 72.0, 8.0  # drawing units
_LATEST = 90  # days drawn, the latest


@dataclass(frozen=True, slots=True)
class Day:
    """A day of the course: where its chance is drawn, and what was written down."""

    odds: LineOdds
    x: float
    y: float
    percent: str


@dataclass(frozen=True, slots=True)
class Course:
    """The days in order, at least two. points: of the line through them."""

    days: tuple[Day, ...]
    width: float = WIDTH
    height: float = HEIGHT
    ceiling: float = PADDING
    floor: float = HEIGHT - PADDING

    @property
    def points(self) -> str:
        """Return the points of an SVG polyline: a chance holds until the next is written down."""
        stairs = [(self.days[0].x, self.days[0].y)]
        for before, day in zip(self.days, self.days[1:], strict=False):
            stairs += [(day.x, before.y), (day.x, day.y)]
        return " ".join(f"{x:g},{y:g}" for x, y in stairs)


def draw(found: Sequence[LineOdds]) -> Course | None:
    """Return the course of a line, None before a second day was written down."""
    rows = found[-_LATEST:]
    if len(rows) < 2:
        return None
    span = (rows[-1].day - rows[0].day).days
    room = WIDTH - 2 * PADDING
    return Course(
        tuple(
            Day(
                odds=row,
                x=round(PADDING + room * (row.day - rows[0].day).days / span, 1),
                y=round(PADDING + (HEIGHT - 2 * PADDING) * (1 - row.chance), 1),
                percent=wording.percent(row.chance),
            )
            for row in rows
        )
    )
