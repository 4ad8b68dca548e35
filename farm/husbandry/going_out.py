"""The first night and the first day out of doors by the weather to expect, and what stands against an earlier one.

A night is named by the day it begins; its low is the next day's minimum, for it is coldest before dawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from farm.husbandry import outdoors
from farm.husbandry.outlook import Outlook
from farm.trade.general import figure
from farm.trade.programme import Programme

#: Nights are looked at for a year: after that the same ones come again.
SEARCH_DAYS = 366
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Shelter:
    """Where birds spend the night: under a closed roof or in the open, and how much warmer than outside at bird height.

    Raises ValueError for a supplement below 0 or above what any shelter gives.
    """

    indoor: bool
    supplement_c: float

    def __post_init__(self) -> None:
        if not 0 <= self.supplement_c <= figure("outdoors", "shelter_most_c"):
            raise ValueError("supplement_c is out of bounds")

    @classmethod
    def usual(cls, indoor: bool, heated: bool) -> Shelter:
        """Return a common shelter: in the open nothing, a closed coop a little, a heat plate in it much warmer."""
        if not indoor:
            return cls(False, 0.0)
        heat = figure("outdoors", "shelter_heated_c") if heated else 0.0
        return cls(True, figure("outdoors", "shelter_closed_c") + heat)


@dataclass(frozen=True, slots=True)
class Night:
    """One night for one batch. outside_c: the outside low that still leaves what they bear; chance: of that or more."""

    day: date
    age_days: int
    bears_c: float
    outside_c: float
    chance: float


@dataclass(frozen=True, slots=True)
class NightAnswer:
    """The first night out, and why not sooner.

    day: None where no night within a year is safe. ready: the first night their age allows, or the day asked from if
    that is later. last_cold: the last night from `ready` to `day` whose chance is too small; None where age alone
    decides. coldest: of those nights, the one with the smallest chance. confidence, nights: what was asked of each
    night, and of how many on end.
    """

    day: date | None
    hatch_day: date
    ready: Night
    last_cold: Night | None
    coldest: Night | None
    shelter: Shelter
    confidence: float
    nights: int


@dataclass(frozen=True, slots=True)
class DayAnswer:
    """The first day out of doors by day. warm: earlier than by age alone, as the afternoon is warm with this chance."""

    day: date
    age_days: int
    warm: bool
    chance: float


def nights(
    programme: Programme, hatch_day: date, outlook: Outlook, shelter: Shelter, days: Sequence[date]
) -> tuple[Night, ...]:
    """Return what each night asks and how likely it is warm enough. Raises ValueError for a day before the hatch."""
    ages = [(day - hatch_day).days for day in days]
    if any(age < 0 for age in ages):
        raise ValueError("no night is before the hatch")
    bears = outdoors.night_min_c(programme, ages)
    outside = bears - shelter.supplement_c
    chances = outlook.chance_low_at_least([day + _DAY for day in days], outside)
    rows = zip(days, ages, bears.tolist(), outside.tolist(), chances.tolist(), strict=True)
    return tuple(Night(*row) for row in rows)


def first_night_out(
    programme: Programme,
    hatch_day: date,
    outlook: Outlook,
    shelter: Shelter,
    not_before: date | None = None,
    confidence: float | None = None,
) -> NightAnswer:
    """Return the first night from which each of the next nights is warm enough with `confidence`.

    Birds must be feathered and old enough to be out by day. not_before: usually today. confidence: 0.5 to 0.999, the
    project's 0.9 by default; raises ValueError for another. A chance is each night's own: that all of them hold is less
    likely.
    """
    asked = _confidence(confidence)
    ahead = int(figure("outdoors", "nights_ahead"))
    start = hatch_day + outdoors.nights_out_age(programme) * _DAY
    start = max(start, not_before or start)
    found = nights(programme, hatch_day, outlook, shelter, _days(start, SEARCH_DAYS + ahead))
    warm = np.array([night.chance >= asked for night in found])
    safe = np.lib.stride_tricks.sliding_window_view(warm, ahead).all(axis=1)
    first = int(np.argmax(safe)) if safe.any() else None
    cold = [night for night in found[:first] if night.chance < asked]
    return NightAnswer(
        day=None if first is None else found[first].day,
        hatch_day=hatch_day,
        ready=found[0],
        last_cold=cold[-1] if cold else None,
        coldest=min(cold, key=lambda night: night.chance) if cold else None,
        shelter=shelter,
        confidence=asked,
        nights=ahead,
    )


def first_day_out(
    programme: Programme, hatch_day: date, outlook: Outlook, confidence: float | None = None
) -> DayAnswer:
    """Return the first day birds may go out: by age, or before it on a day whose afternoon is likely warm enough.

    confidence: of a warm afternoon, 0.5 to 0.999; the project's 0.9 by default. Raises ValueError for another.
    """
    asked, warm_c = _confidence(confidence), figure("outdoors", "warm_afternoon_c")
    early, late = outdoors.first_day_out(programme, warm_c), outdoors.first_day_out(programme)
    days = _days(hatch_day + early * _DAY, late - early + 1)
    chances = outlook.chance_high_at_least(days, warm_c)
    last = len(days) - 1
    index = next((i for i, chance in enumerate(chances) if chance >= asked), last)
    return DayAnswer(days[index], early + index, index < last, float(chances[index]))


def _days(start: date, count: int) -> tuple[date, ...]:
    return tuple(start + _DAY * i for i in range(count))


def _confidence(asked: float | None) -> float:
    if asked is None:
        return figure("outdoors", "night_probability")
    if not 0.5 <= asked <= 0.999:
        raise ValueError("confidence must be 0.5 to 0.999")
    return asked
