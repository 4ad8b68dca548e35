"""From days and square metres to the drawing's own units, and back out as SVG paths.

Every shape is made of whole days: a load holds for the day it is counted for, so the area of a shape is the sum of
its days' loads times the width of a day. Nothing is smoothed. Pure: numbers in, numbers and text out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from farm.planning.breach import runs

Floats = npt.NDArray[np.float64]
Point = tuple[float, float]

#: Less than this is nothing: rounding of sums of many birds' needs (m²).
NOTHING_M2 = 1e-6


@dataclass(frozen=True, slots=True)
class Scale:
    """Where a day and a load are drawn: x grows with days, y falls with m².

    day_width: units a day. floor: the y of 0 m². height: units from the floor to `full_m2`.
    """

    day_width: float
    floor: float
    height: float
    full_m2: float

    def x(self, day: float) -> float:
        """Return the left edge of column `day`."""
        return round(day * self.day_width, 2)

    def y(self, m2: float) -> float:
        """Return the height of a load."""
        return round(self.floor - self.height * m2 / self.full_m2, 2)

    def m2(self, shape: Iterable[Sequence[Point]]) -> float:
        """Return the m² × days that closed polygons cover: the inverse, for whoever doubts the drawing."""
        return sum(_area(polygon) for polygon in shape) / self.day_width * self.full_m2 / self.height


def between(lower: Floats, upper: Floats, scale: Scale) -> list[list[Point]]:
    """Return closed polygons of the days on which `upper` is above `lower`, both in m² by day.

    One polygon for each run of such days; its outline goes along the upper edge and back along the lower.
    """
    shapes = []
    for first, stop in runs(upper - lower > NOTHING_M2):
        there = _edge(upper, first, stop, scale)
        back = _edge(lower, first, stop, scale)
        shapes.append([*there, *reversed(back)])
    return shapes


def line(level: Floats, days: npt.NDArray[np.bool_], scale: Scale) -> list[list[Point]]:
    """Return open lines along `level` (m² by day) over the days asked for."""
    return [_edge(level, first, stop, scale) for first, stop in runs(days)]


def path(shapes: Iterable[Sequence[Point]], *, closed: bool = True) -> str:
    """Return the points as the `d` of an SVG path, with the fewest digits that say them."""
    end = "Z" if closed else ""
    return "".join(
        "M" + "L".join(f"{x:g} {y:g}" for x, y in points) + end for points in shapes if len(points) > 1
    )


def _edge(level: Floats, first: int, stop: int, scale: Scale) -> list[Point]:
    """Return the stair of `level` from column `first` to `stop`, without points on a straight line."""
    points: list[Point] = []
    for column in range(first, stop):
        y = scale.y(float(level[column]))
        if points and points[-1][1] == y:
            points[-1] = (scale.x(column + 1), y)
        else:
            points += [(scale.x(column), y), (scale.x(column + 1), y)]
    return points


def _area(polygon: Sequence[Point]) -> float:
    """The shoelace formula."""
    following = [*polygon[1:], polygon[0]]
    return abs(sum(x * v - u * y for (x, y), (u, v) in zip(polygon, following, strict=True))) / 2
