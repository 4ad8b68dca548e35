"""The drawings of a batch: days of age along the bottom, numbers up the side. Pure: numbers in, SVG numbers out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

WIDTH, HEIGHT = 640.0, 280.0
LEFT, RIGHT, TOP, BOTTOM = 76.0, 16.0, 44.0, 62.0
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Axes:
    """Where an age and a value are drawn. last_day: the age at the right edge; top: the value at the upper one."""

    last_day: int
    top: float

    width = WIDTH
    height = HEIGHT
    left = LEFT
    right = WIDTH - RIGHT
    floor = HEIGHT - BOTTOM
    ceiling = TOP

    def x(self, age: float) -> float:
        """Return where a day of age stands."""
        return round(LEFT + (WIDTH - LEFT - RIGHT) * age / max(self.last_day, 1), 2)

    def y(self, value: float) -> float:
        """Return where a value stands; 0 is on the floor."""
        return round(self.floor - (self.floor - TOP) * value / self.top, 2)

    def line(self, points: Iterable[Point]) -> str:
        """Return (age, value) points as the points of an SVG polyline or polygon."""
        return " ".join(f"{self.x(age):g},{self.y(value):g}" for age, value in points)

    @property
    def weeks(self) -> list[tuple[float, int]]:
        """Return where weeks of age are marked, and which."""
        step = next(n for n in (1, 2, 4, 8, 13, 26, 52, 520) if self.last_day / (7 * n) <= 9)
        return [(self.x(week * 7), week) for week in range(0, self.last_day // 7 + 1, step)]

    @property
    def levels(self) -> list[tuple[float, float]]:
        """Return where values are marked, and which."""
        step = round_step(self.top)
        return [(self.y(step * n), step * n) for n in range(int(self.top / step + 1e-9) + 1)]


def round_step(top: float) -> float:
    """Return a step of 1, 2 or 5 times a power of ten that marks `top` four to ten times at most."""
    step = 10 ** math.floor(math.log10(max(top, 1e-9) / 5))
    return float(next(step * times for times in (1, 2, 5, 10) if top / (step * times) <= 5))


def round_up(value: float) -> float:
    """Return the next round number at or above `value` (at least 1) to end an axis on."""
    step = round_step(max(value, 1))
    return math.ceil(max(value, 1) / step - 1e-9) * step


def stairs(points: Iterable[Point]) -> Iterator[Point]:
    """Return the points of a value that holds for its whole day and jumps at the next."""
    for age, value in points:
        yield age, value
        yield age + 1, value
