"""Days, weeks and months counted from a start: which days of the k-th one a rule asks for. Days are ordinals."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from farm.planning.repeats.rule import Repeat

LAST = date.max.toordinal()


class Cycle(Protocol):
    """Periods 0, 1, 2 … of a rule."""

    def begins(self, k: int) -> int:
        """Return the first day of period `k`, later than LAST when no calendar reaches it."""

    def holding(self, day: int) -> int:
        """Return the last period that begins on or before `day`."""

    def days(self, k: int) -> tuple[int, ...]:
        """Return the days of period `k` that fit the rule, in order; those before the start too."""


def cycle(repeat: Repeat, start: date) -> Cycle:
    """Return the periods of a rule from `start`."""
    if repeat.freq == "daily":
        return _Daily(start.toordinal(), repeat.interval)
    if repeat.freq == "weekly":
        monday = start.toordinal() - start.weekday()
        return _Weekly(monday, 7 * repeat.interval, repeat.weekdays or (start.weekday(),))
    monthday = start.day if repeat.monthday is None and repeat.nth is None else repeat.monthday
    return _Monthly(start.year * 12 + start.month - 1, repeat.interval, monthday, repeat.nth)


@dataclass(frozen=True, slots=True)
class _Daily:
    start: int
    every: int

    def begins(self, k: int) -> int:
        return self.start + k * self.every

    def holding(self, day: int) -> int:
        return (day - self.start) // self.every

    def days(self, k: int) -> tuple[int, ...]:
        return (self.begins(k),)


@dataclass(frozen=True, slots=True)
class _Weekly:
    monday: int
    every: int
    weekdays: tuple[int, ...]

    def begins(self, k: int) -> int:
        return self.monday + k * self.every

    def holding(self, day: int) -> int:
        return (day - self.monday) // self.every

    def days(self, k: int) -> tuple[int, ...]:
        return tuple(self.begins(k) + weekday for weekday in self.weekdays)


@dataclass(frozen=True, slots=True)
class _Monthly:
    """Months are numbered 12 * year + month - 1."""

    month: int
    every: int
    monthday: int | None
    nth: tuple[int, int] | None

    def _month(self, k: int) -> tuple[int, int]:
        year, month = divmod(self.month + k * self.every, 12)
        return year, month + 1

    def begins(self, k: int) -> int:
        year, month = self._month(k)
        return date(year, month, 1).toordinal() if year <= date.max.year else LAST + 1

    def holding(self, day: int) -> int:
        on = date.fromordinal(day)
        return (on.year * 12 + on.month - 1 - self.month) // self.every

    def days(self, k: int) -> tuple[int, ...]:
        year, month = self._month(k)
        first_weekday, length = monthrange(year, month)
        if self.nth is None:
            day = length if self.monthday == -1 else self.monthday or 1
        else:
            day = _nth(*self.nth, first_weekday, length)
        return (self.begins(k) + day - 1,) if day <= length else ()


def _nth(n: int, weekday: int, first_weekday: int, length: int) -> int:
    """Return the day of the month that is its n-th such weekday, its last for -1."""
    first = 1 + (weekday - first_weekday) % 7
    return first + 7 * ((length - first) // 7) if n == -1 else first + 7 * (n - 1)
