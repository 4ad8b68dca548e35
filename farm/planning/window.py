"""A stretch of days: the board's columns, and the second axis of every array in `farm.planning`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta


@dataclass(frozen=True, slots=True)
class Window:
    """The half-open days [start, start + days); day i of an array is `start + i`.

    days: at least 1, else ValueError.
    """

    start: date
    days: int

    def __post_init__(self) -> None:
        if self.days < 1:
            raise ValueError(f"a window needs at least one day, not {self.days}")

    @property
    def end(self) -> date:
        """Return the first day after the window."""
        return self.start + timedelta(days=self.days)

    def index(self, day: date) -> int:
        """Return the column of `day`; negative before the window, `days` or more after it."""
        return (day - self.start).days

    def day(self, index: int) -> date:
        """Return the day of column `index`; the inverse of `index`, outside the window too."""
        return self.start + timedelta(days=index)

    def clip(self, start: date | None, end: date | None) -> slice | None:
        """Return the columns of [start, end) inside the window, or None; an open side is None."""
        first = 0 if start is None else max(0, self.index(start))
        stop = self.days if end is None else min(self.days, self.index(end))
        return slice(first, stop) if first < stop else None

    def dates(self) -> tuple[date, ...]:
        """Return every day of the window in order."""
        return tuple(self.day(index) for index in range(self.days))
