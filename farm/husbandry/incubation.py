"""From setting eggs to the first feed of the young: dates, climate, storage, how many hatch.

Day of set is incubation day 0; hatch day is set day plus the programme's incubation days.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from farm.trade.eggs import egg_kind
from farm.trade.general import figure
from farm.trade.programme import Programme

Air = Literal["forced", "still"]
Verdict = Literal["fine", "late", "refused"]


@dataclass(frozen=True, slots=True)
class Incubation:
    """The days of one egg set, each the farm's date.

    candlings: rising, the last on lockdown. turn_from: turned from then until the day before `lockdown`, on which
    eggs go to the hatcher. hatch_first, hatch_day, hatch_last: when young are known to hatch, and when they are
    expected. out_latest: the last day on which the machine is emptied.
    """

    set_on: date
    candlings: tuple[date, ...]
    turn_from: date
    lockdown: date
    hatch_first: date
    hatch_day: date
    hatch_last: date
    out_latest: date


@dataclass(frozen=True, slots=True)
class Climate:
    """What a machine should show: °C and % relative humidity with the band that needs no action; turns a day."""

    temp_c: float
    low_c: float
    high_c: float
    rh: float
    rh_low: float
    rh_high: float
    turns_a_day: int


@dataclass(frozen=True, slots=True)
class FirstMeal:
    """Water at `drink_from`, at once; feed when they have drunk, by `feed_by`. late: that instant has passed."""

    drink_from: datetime
    feed_by: datetime
    late: bool


def hatch_after_days(programme: Programme) -> int:
    """Return the days from setting to hatch day."""
    return int(programme.rules["incubation_days"].value)


def lockdown_after_days(programme: Programme) -> int:
    """Return the days from setting to lockdown, when eggs go to the hatcher and turning has stopped."""
    return hatch_after_days(programme) - int(figure("incubation", "lockdown_days_before_hatch"))


def incubation(programme: Programme, set_on: date) -> Incubation:
    """Return the days of eggs set on `set_on`.

    The species' known days of the hatch are widened where a farm's own programme hatches outside them, and none
    lies before the day after lockdown.
    """
    kind = egg_kind(programme.species)
    days, lockdown = hatch_after_days(programme), lockdown_after_days(programme)
    first = min(days, max(kind.hatch_first_day, lockdown + 1))
    last = max(days, kind.hatch_last_day)
    candlings = (*(day for day in kind.candle_days if day < lockdown), lockdown)

    def day(after: int) -> date:
        return set_on + timedelta(days=after)

    return Incubation(
        set_on=set_on,
        candlings=tuple(day(after) for after in candlings),
        turn_from=day(int(figure("incubation", "turn_from_day"))),
        lockdown=day(lockdown),
        hatch_first=day(first),
        hatch_day=day(days),
        hatch_last=day(last),
        out_latest=day(max(last, days + int(figure("incubation", "out_after_days")))),
    )


def set_on_for(programme: Programme, hatch_day: date) -> date:
    """Return the day to set eggs that shall hatch on `hatch_day`."""
    return hatch_day - timedelta(days=hatch_after_days(programme))


def climate(species: str, air: Air, hatching: bool) -> Climate:
    """Return what the machine should show while the eggs are turned, or from lockdown on (`hatching`).

    air: "forced" or "still"; in still air the thermometer is read at the height of the egg tops. Raises KeyError
    for an unknown species, ValueError for unknown air.
    """
    if air not in ("forced", "still"):
        raise ValueError(f"air is forced or still, not {air}")
    extra = egg_kind(species).rh_extra
    temp = figure("incubation", "setter_c" if air == "forced" else "still_air_c")
    temp -= figure("incubation", "hatcher_cooler_c") if hatching else 0
    swing, phase = figure("incubation", "temp_swing_c"), "hatcher" if hatching else "setter"
    return Climate(
        temp_c=round(temp, 2),
        low_c=round(temp - swing, 2),
        high_c=round(temp + swing, 2),
        rh=figure("incubation", f"{phase}_rh") + extra,
        rh_low=figure("incubation", f"{phase}_rh_low") + extra,
        rh_high=figure("incubation", f"{phase}_rh_high") + extra,
        turns_a_day=0 if hatching else int(figure("incubation", "turns_a_day")),
    )


def hatch_rate(species: str, stored_days: int) -> float:
    """Return the share of eggs set that is expected to hatch; it falls for each day stored beyond the best."""
    kind = egg_kind(species)
    beyond = max(0, stored_days - kind.best_storage_days)
    return max(0.0, kind.hatch_rate - figure("incubation", "lost_a_day_stored") * beyond)


def storage(species: str, stored_days: int) -> Verdict:
    """Judge eggs stored so long: "late" from the day after the best, "refused" unless a keeper insists."""
    kind = egg_kind(species)
    if stored_days > kind.refuse_storage_days:
        return "refused"
    return "late" if stored_days > kind.best_storage_days else "fine"


def travel_caution(hours: float) -> bool:
    """Say whether young delivered so many hours after the hatch came later than the post allows (USPS526)."""
    return hours > figure("incubation", "travel_hours")


def latest_feed(hatched_at: datetime) -> datetime:
    """Return the instant by which young that lived on their yolk must have been fed."""
    return hatched_at + timedelta(hours=figure("incubation", "travel_hours"))


def first_meal(hatched_at: datetime, arrived_at: datetime) -> FirstMeal:
    """Return when posted young drink and eat; both instants aware. ValueError when they came before the hatch."""
    if arrived_at < hatched_at:
        raise ValueError("birds arrive after their hatch")
    feed_by = latest_feed(hatched_at)
    return FirstMeal(arrived_at, feed_by, arrived_at > feed_by)
