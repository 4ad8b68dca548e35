"""The days of a rule in a window, and before and after a day: found by arithmetic, however long ago the rule began."""

from __future__ import annotations

from collections.abc import Iterator, Set
from datetime import date
from functools import lru_cache
from itertools import islice

from farm.phrase import N_
from farm.planning.repeats.cycles import LAST, cycle
from farm.planning.repeats.rule import Repeat, RepeatError
from farm.planning.window import Window

NONE: Set[date] = frozenset()


def days(repeat: Repeat, start: date, window: Window, exceptions: Set[date] = NONE) -> tuple[date, ...]:
    """Return the days of the window that fit the rule, from `start` on, without the `exceptions`.

    The work grows with the window, not with its distance from `start`; only a count of a 29th, 30th or 31st is walked
    through, in at most some thousand short steps.
    """
    first = window.start.toordinal()
    found = map(date.fromordinal, _between(repeat, start, first, first + window.days))
    return tuple(day for day in found if day not in exceptions)


def next_day(repeat: Repeat, start: date, after: date, exceptions: Set[date] = NONE) -> date | None:
    """Return the first day after `after` that fits, None when none comes any more."""
    found = map(date.fromordinal, _between(repeat, start, after.toordinal() + 1, LAST + 1))
    return next((day for day in found if day not in exceptions), None)


def last_day(repeat: Repeat, start: date, before: date, exceptions: Set[date] = NONE) -> date | None:
    """Return the last day before `before` that fits, None when there was none."""
    first, stop = start.toordinal(), min(before.toordinal(), _end(repeat, start))
    periods = cycle(repeat, start)
    for k in range(periods.holding(stop - 1) if stop > first else -1, -1, -1):
        for number in reversed(periods.days(k)):
            if first <= number < stop and (day := date.fromordinal(number)) not in exceptions:
                return day
    return None


def first_day(repeat: Repeat, start: date) -> date:
    """Return the first day on or after `start` that fits. RepeatError when the rule has no day at all."""
    if repeat.until is not None and repeat.until < start:
        raise RepeatError(N_("The last day is before the first: choose a last day on or after it"))
    for number in _between(repeat, start, start.toordinal(), LAST + 1):
        return date.fromordinal(number)
    if repeat.until is not None:
        raise RepeatError(N_("No such day comes before it ends: choose a later last day"))
    raise RepeatError(N_("No such day ever comes: choose a day that its months have"))


def _between(repeat: Repeat, start: date, first: int, stop: int) -> Iterator[int]:
    """Yield the ordinals in [first, stop) that fit, in order, to the rule's end."""
    return _fitting(repeat, start, first, min(stop, _end(repeat, start)))


def _fitting(repeat: Repeat, start: date, first: int, stop: int) -> Iterator[int]:
    """Yield the ordinals in [first, stop) that fit, in order, whenever the rule ends."""
    first = max(first, start.toordinal())
    if first >= stop:
        return
    periods = cycle(repeat, start)
    k = periods.holding(first)
    while periods.begins(k) < stop:
        yield from (number for number in periods.days(k) if first <= number < stop)
        k += 1


def _end(repeat: Repeat, start: date) -> int:
    """Return the first ordinal after the rule's last day."""
    if repeat.until is not None:
        return repeat.until.toordinal() + 1
    if repeat.count is None:
        return LAST + 1
    return min(LAST, _counted(repeat, start, repeat.count)) + 1


@lru_cache(maxsize=256)
def _counted(repeat: Repeat, start: date, count: int) -> int:
    """Return the ordinal of the rule's day number `count`; LAST or later where the calendar ends before."""
    monthday = repeat.monthday or start.day
    if repeat.freq == "monthly" and repeat.nth is None and monthday > 28:  # some months lack it: walk
        fitting = _fitting(repeat, start, start.toordinal(), LAST + 1)
        return next(islice(fitting, count - 1, None), LAST)
    periods = cycle(repeat, start)
    opening = [number for number in periods.days(0) if number >= start.toordinal()]
    if count <= len(opening):
        return opening[count - 1]
    a_period = len(repeat.weekdays) or 1
    k, place = divmod(count - len(opening) - 1, a_period)
    return periods.days(k + 1)[place] if periods.begins(k + 1) <= LAST else LAST
