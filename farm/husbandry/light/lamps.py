"""When lamps burn: before sunrise in an open house, so that the evening falls as it does outside."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from farm.husbandry.light.programme import Lit, wanted_hours
from farm.husbandry.light.sun import sun_times
from farm.phrase import N_, Phrase, Value
from farm.trade.general import figure

_MINUTE = timedelta(minutes=1)
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Place:
    """Where the house stands: degrees east, and the zone of its clocks."""

    longitude: float
    zone: tzinfo


@dataclass(frozen=True, slots=True)
class Lamp:
    """Lamps of one day: on may be the evening before."""

    on: datetime
    off: datetime


@dataclass(frozen=True, slots=True)
class Setting:
    """A timer from one day to another, both included: clock times, None where the sun alone is enough.

    hours: of light wanted on the first day.
    """

    first_day: date
    last_day: date
    on: time | None
    off: time | None
    hours: float

    @property
    def words(self) -> Phrase:
        """What to set: "Lamps on at 04:30, off at 07:20: 15 h of light"."""
        hours, minutes = divmod(round(self.hours * 60), 60)
        values: dict[str, Value] = {"hours": hours, "minutes": minutes}
        if self.on is None or self.off is None:
            return Phrase(N_("No lamps: the sun gives %(hours)d h %(minutes)d min of light"), values)
        values |= {"on": f"{self.on:%H:%M}", "off": f"{self.off:%H:%M}"}
        return Phrase(N_("Lamps on at %(on)s, off at %(off)s: %(hours)d h %(minutes)d min of light"), values)


def lamp(lit: Lit, place: Place, day: date, hours: float) -> Lamp | None:
    """Return the lamp that makes a day `hours` long, lit in the morning; None where the sun does, to the minute.

    In a closed house it burns all those hours and goes out at 20:00. In an open one it goes out at sunrise; should the
    sun not set, none helps.
    """
    if lit.closed:
        evening = time(int(figure("light", "closed_evening_hour")))
        ends = datetime.combine(day, evening, tzinfo=place.zone)
        return Lamp(_before(ends, hours, place.zone), ends) if hours > 0 else None
    sun = sun_times(lit.latitude, place.longitude, day, place.zone)
    if sun.rises is None or sun.sets is None or hours - sun.hours < _MINUTE / timedelta(hours=1):
        return None
    return Lamp(_before(sun.sets, hours, place.zone), sun.rises)


def timer(lit: Lit, place: Place, from_age: int, to_age: int) -> tuple[Setting, ...] | None:
    """Return how a timer is set for the days of age from_age to to_age - 1, or None beyond 60 degrees of latitude.

    Week by week of age, and anew where clocks change. One setting does for its days: on as early and off as late as
    any of them asks, so that none is short of light. Raises ValueError for no day, or one before hatch.
    """
    if not 0 <= from_age < to_age:
        raise ValueError("needs days of age from 0 on")
    hours = wanted_hours(lit, to_age)
    if hours is None:
        return None
    return tuple(_settings(lit, place, range(from_age, to_age), hours))


def _settings(lit: Lit, place: Place, ages: range, hours: NDArray[np.float64]) -> Iterator[Setting]:
    week = int(figure("light", "timer_days"))

    def alike(age: int) -> tuple[int, timedelta | None]:
        noon = datetime.combine(lit.hatch_day + timedelta(days=age), time(12), tzinfo=place.zone)
        return age // week, noon.utcoffset()

    for _, group in groupby(ages, alike):
        days = [(age, lit.hatch_day + timedelta(days=age)) for age in group]
        lamps = [(day, lamp(lit, place, day, float(hours[age]))) for age, day in days]
        on = [_clock(each.on, day) for day, each in lamps if each]
        off = [_clock(each.off, day) for day, each in lamps if each]
        yield Setting(
            first_day=days[0][1],
            last_day=days[-1][1],
            on=_of_day(min(on) // _MINUTE * _MINUTE) if on else None,
            off=_of_day(-(-max(off) // _MINUTE) * _MINUTE) if off else None,
            hours=float(hours[days[0][0]]),
        )


def _before(end: datetime, hours: float, zone: tzinfo) -> datetime:
    """Return the instant so many hours before another: real hours, though clocks may change between."""
    return (end.astimezone(UTC) - timedelta(hours=hours)).astimezone(zone)


def _clock(at: datetime, day: date) -> timedelta:
    """Return the clock's time after midnight of `day`: below 0 for the evening before."""
    return at.replace(tzinfo=None) - datetime.combine(day, time())


def _of_day(after_midnight: timedelta) -> time:
    hours, minutes = divmod(after_midnight % _DAY // _MINUTE, 60)
    return time(hours, minutes)
