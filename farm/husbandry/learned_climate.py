"""A climate learned from a daily record: twelve means and spreads, and with enough years the shape of its days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from farm.husbandry.climate import Climate, MonthlyClimate
from farm.husbandry.day_law import LEVELS, NORMAL, SCORES, DayLaw, Shape
from farm.husbandry.weather_record import DayRecord
from farm.husbandry.year_curve import MONTHS
from farm.trade.general import figure


@dataclass(frozen=True, slots=True)
class Learned:
    """What a record taught.

    climate: None while a month has too few days. years: calendar years with a reading. thin_months: 1 to 12, those with
    too few lows or highs. missing_lows, missing_highs: days without one, from the first day of the record to the last.
    shaped: whether the years were enough to learn how far nights stray to either side.
    """

    climate: Climate | None
    years: int
    thin_months: tuple[int, ...]
    missing_lows: int
    missing_highs: int
    shaped: bool


@dataclass(frozen=True, slots=True)
class _Readings:
    """One column of the record without its gaps: dates, their years and months (0 to 11), °C."""

    days: tuple[date, ...]
    years: NDArray[np.int64]
    months: NDArray[np.int64]
    temps: NDArray[np.float64]


def learned(record: Sequence[DayRecord]) -> Learned:
    """Return what a record of days (each at most once, in any order) teaches.

    Spreads are widened for the few years they rest on: a year to come strays from their mean about as much as each of
    them does. Raises ClimateError for means no place has.
    """
    lows = _readings([(day.day, day.low_c) for day in record])
    highs = _readings([(day.day, day.high_c) for day in record])
    years = len({*lows.years.tolist(), *highs.years.tolist()})
    least = figure("outdoors", "record_month_days")
    counts = np.minimum(*(np.bincount(each.months, minlength=MONTHS) for each in (lows, highs)))
    thin = tuple((np.flatnonzero(counts < least) + 1).tolist())
    enough = figure("outdoors", "record_shape_years")
    shaped = years >= enough and bool(counts.min() >= least * enough)
    return Learned(
        climate=None if thin else _climate(lows, highs, shaped),
        years=years,
        thin_months=thin,
        missing_lows=_missing(record, len(lows.days)),
        missing_highs=_missing(record, len(highs.days)),
        shaped=shaped,
    )


def _climate(lows: _Readings, highs: _Readings, shaped: bool) -> Climate:
    (low_mean, low_sd, low_shape), (high_mean, high_sd, high_shape) = (
        _law(each, shaped) for each in (lows, highs)
    )
    return Climate(MonthlyClimate(low_mean, low_sd, high_mean, high_sd), low_shape, high_shape)


def _law(readings: _Readings, shaped: bool) -> tuple[tuple[float, ...], tuple[float, ...], Shape]:
    by_month = [readings.temps[readings.months == month] for month in range(MONTHS)]
    means = tuple(float(temps.mean()) for temps in by_month)
    spreads = np.array([temps.std() for temps in by_month])
    shape = _shape(readings, DayLaw(means, tuple(spreads.tolist()))) if shaped else NORMAL
    return means, tuple((spreads * _widening(readings)).tolist()), shape


def _widening(readings: _Readings) -> float:
    """Return the factor on a spread so that it holds for a year that is not in the record.

    With V the spread, squared, of single years' means of one month: the record's mean is off by V / years, and the
    spread about that mean, squared, lacks as much again.
    """
    years = np.unique(readings.years)
    between, within = [], []
    for month in range(MONTHS):
        here = readings.months == month
        means = [readings.temps[here & (readings.years == year)] for year in years.tolist()]
        known = [float(temps.mean()) for temps in means if len(temps)]
        if len(known) > 1:
            between.append(float(np.var(known, ddof=1)))
            within.append(float(readings.temps[here].var()))
    share = figure("outdoors", "year_share")
    if sum(within) > 0:
        share = sum(between) / sum(within)
    return float(np.sqrt(1 + 2 * share / len(years)))


def _shape(readings: _Readings, law: DayLaw) -> Shape:
    """Return the scores at LEVELS by month."""
    means, spreads = law.mean_and_sd(readings.days)
    scores = np.divide(readings.temps - means, spreads, out=np.zeros_like(means), where=spreads > 0)
    rows = []
    for month in range(MONTHS):
        found = np.quantile(scores[readings.months == month], LEVELS)
        # Many equal readings leave a flat piece; a hair of slope keeps every chance a single one.
        rows.append(tuple((found + 1e-6 * SCORES[1:-1]).tolist()))
    return tuple(rows)


def _readings(column: Sequence[tuple[date, float | None]]) -> _Readings:
    known = [(day, temp) for day, temp in column if temp is not None]
    return _Readings(
        tuple(day for day, _ in known),
        np.array([day.year for day, _ in known], dtype=np.int64),
        np.array([day.month - 1 for day, _ in known], dtype=np.int64),
        np.array([temp for _, temp in known], dtype=np.float64),
    )


def _missing(record: Sequence[DayRecord], known: int) -> int:
    if not record:
        return 0
    first, last = min(each.day for each in record), max(each.day for each in record)
    return (last - first).days + 1 - known
