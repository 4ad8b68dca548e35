"""Hours of light by day of age.

Pullets: long days for chicks, then weekly shorter and never longer until they are of an age to lay, then weekly longer
and never shorter. In an open house birds see the natural day whatever the lamps do, so lamps hold the longest natural
day ahead, and what shortens is the programme, not the season.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from farm.husbandry.growth import MALE
from farm.husbandry.lay import point_of_lay
from farm.husbandry.light.sun import day_length_h
from farm.phrase import N_, Phrase
from farm.trade.general import figure
from farm.trade.programme import Programme

Array = NDArray[np.float64]
_WEEK = 7
_HOURS_A_DAY = 24
#: Days before the day is lengthened that its condition is said.
_SAID_BEFORE = 2 * _WEEK

NO_PROGRAMME = Phrase(
    N_(
        "So far north or south the days are too long and too short for a ready-made light programme:"
        " ask your vet or a local adviser."
    )
)
AT_WEIGHT = Phrase(
    N_("Lengthen the day only once they are at weight: light brings small pullets into lay too soon.")
)


@dataclass(frozen=True, slots=True)
class Lit:
    """Birds under light. closed: no daylight comes in. latitude: degrees north. start_day: of age from which the day
    is lengthened for lay, when the keeper finds them at weight; None: the table's.

    Raises ValueError for a latitude outside -90..90.
    """

    programme: Programme
    sex: str
    hatch_day: date
    latitude: float
    closed: bool = False
    start_day: int | None = None

    def __post_init__(self) -> None:
        if not -90 <= self.latitude <= 90:
            raise ValueError("latitude must be within -90 to 90")

    @property
    def lays(self) -> bool:
        """Whether they are reared to lay under a table we have: chickens alone."""
        return (
            self.programme.species == "chicken"
            and self.sex != MALE
            and point_of_lay(self.programme) is not None
        )

    @property
    def lengthen_day(self) -> int | None:
        """The day of age from which days grow longer, never before 14 weeks; None for birds not reared to lay."""
        if not self.lays:
            return None
        wanted = point_of_lay(self.programme) if self.start_day is None else self.start_day
        return max(wanted or 0, int(figure("light_lay", "no_rise_before_day")))


def natural_hours(lit: Lit, days: int) -> Array:
    """Return the hours the sun is up on each day of age 0 to days - 1."""
    return np.array([day_length_h(lit.latitude, lit.hatch_day + timedelta(days=age)) for age in range(days)])


def wanted_hours(lit: Lit, days: int) -> Array | None:
    """Return the hours of light wanted on each day of age 0 to days - 1, or None beyond 60 degrees of latitude.

    In an open house never less than the natural day, which nothing there can shorten.
    """
    if abs(lit.latitude) > figure("light", "latitude_most"):
        return None
    if lit.lays:
        return _lay(lit, days)
    ages, natural = np.arange(days), natural_hours(lit, days)
    group = "light_turkey" if lit.programme.species == "turkey" else "light_natural"
    if group == "light_turkey":
        later = np.full(days, figure(group, "hours"))
    else:
        later = np.minimum(natural, _HOURS_A_DAY - figure(group, "dark_hours"))
    hours = np.where(ages < figure(group, "first_days"), figure(group, "first_hours"), later)
    return hours if lit.closed else np.maximum(hours, natural)


def notes(lit: Lit, age_days: int) -> tuple[Phrase, ...]:
    """Return what is to be said beside the hours of light of a day of age (0 or more)."""
    if abs(lit.latitude) > figure("light", "latitude_most"):
        return (NO_PROGRAMME,)
    found = []
    if lit.lengthen_day is not None and 0 <= lit.lengthen_day - age_days <= _SAID_BEFORE:
        found.append(AT_WEIGHT)
    dark = figure("light_natural", "dark_hours")
    natural = day_length_h(lit.latitude, lit.hatch_day + timedelta(days=age_days))
    shadable = not (lit.closed or lit.lays or lit.programme.species == "turkey")
    if shadable and natural > _HOURS_A_DAY - dark:
        found.append(
            Phrase(N_("Shade the windows: they need %(hours)d hours of dark."), {"hours": int(dark)})
        )
    return tuple(found)


def _lay(lit: Lit, days: int) -> Array:
    start = lit.lengthen_day or 0
    whole = -(-(max(days, start) + 1) // _WEEK) * _WEEK  # whole weeks, so that each can be lit alike
    natural = np.zeros(whole) if lit.closed else natural_hours(lit, whole)
    down_by = int(figure("light_lay", "down_by_day"))
    rearing = figure("light_lay", "closed_hours") if lit.closed else float(natural[down_by : start + 1].max())
    ages = np.arange(whole)
    hours = np.where(ages < start, _down(ages, rearing, down_by), _up(ages, rearing, natural, start))
    return hours[:days]


def _down(ages: NDArray[np.int64], rearing: float, down_by: int) -> Array:
    """Return the hours while they are reared, weekly shorter.

    At no latitude with a programme does the natural day shorten faster than this ramp does, so that it stays below.
    """
    first, weeks = figure("light_lay", "first_hours"), down_by // _WEEK
    return first - (first - rearing) * np.minimum(ages // _WEEK, weeks) / weeks


def _up(ages: NDArray[np.int64], rearing: float, natural: Array, start: int) -> Array:
    """Return the hours in lay: weekly longer to 15, with a longer natural day to 16, and never shorter again."""
    weeks = np.maximum(ages - start, 0) // _WEEK + 1
    ramp = np.minimum(
        rearing + weeks * figure("light_lay", "week_up_hours"), figure("light_lay", "lay_hours")
    )
    seen = np.maximum.accumulate(np.where(ages >= start, natural, 0))
    week_end = np.minimum(start + weeks * _WEEK - 1, len(ages) - 1)
    held = np.minimum(seen[week_end], figure("light_lay", "most_hours"))
    return np.maximum(np.maximum(ramp, held), rearing)
