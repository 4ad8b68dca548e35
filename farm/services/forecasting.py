"""Asking a weather service for a farm: by a job only, never while somebody waits for a page.

The last good forecast is kept, whatever comes after it; days that have passed stay in it for a while, so that what was
said of going out yesterday is not unsaid today.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q

from farm import dispatch
from farm.errors import NotFound
from farm.models import Batch, Farm, Forecast, Weather
from farm.queries import programmes
from farm.queries import weather as read
from farm.services import locks
from farm.services.actor import local_day
from farm.services.forecasts import Got, Locationforecast, NoForecast, Provider, Reading

#: No sooner is a service asked again, whatever it says; and so long one who asks keeps others from asking.
LEAST_WAIT = timedelta(minutes=30)
#: After failures 1, 2, 3 …: twice as long each time, up to a limit. All project default (judgement).
FIRST_WAIT, LONGEST_WAIT = timedelta(minutes=10), timedelta(hours=6)
#: A service that says no is left alone for a day.
REFUSED_WAIT = timedelta(hours=24)
#: How long days that have passed are kept.
KEPT_DAYS = 60
#: The local hours a day's low, and its high, must be known in to be those of the day.
_NIGHT, _AFTERNOON = (2, 7), (12, 17)


def wants(farm_id: int) -> bool:
    """Say whether a farm asked for forecasts, and the service can be asked."""
    placed = Q(farm__latitude__isnull=False, farm__longitude__isnull=False)
    wanted = Weather.objects.filter(placed, farm_id=farm_id, use_forecast=True)
    return bool(settings.FORECAST_CONTACT) and wanted.exists()


def service() -> Provider:
    """Return the weather service of the settings."""
    return Locationforecast(settings.FORECAST_URL, settings.FORECAST_CONTACT)


def fetch(*, farm_id: int, now: datetime, provider: Provider | None = None) -> bool:
    """Ask for a farm's forecast if it is time, and return whether a new one came. Safe to run twice.

    A failure is written down with when to ask again; it is no error. Raises NotFound for a farm that is gone.
    """
    farm = Farm.objects.filter(pk=farm_id).first()
    if farm is None:
        raise NotFound("farm")
    if not wants(farm_id) or not _take(farm, now):
        return False
    place = (farm.latitude or 0.0, farm.longitude or 0.0)  # `wants` has seen that both are there
    try:
        got = (provider or service()).fetch(*place, now)
        days = by_day(got.readings, ZoneInfo(farm.time_zone), local_day(farm, now))
        if not days:
            raise NoForecast("unreadable")
    except NoForecast as failure:
        _failed(farm, failure, now)
        return False
    _save(farm, got, days, now)
    return True


def by_day(readings: Iterable[Reading], zone: ZoneInfo, today: date) -> dict[str, list[float | None]]:
    """Return each day's low and high, °C, by ISO day in the farm's zone; None where the day is not covered.

    A low counts when the hours before dawn are known, a high when the afternoon is.
    """
    lows: dict[date, dict[int, float]] = {}
    highs: dict[date, dict[int, float]] = {}
    for one in readings:
        for at in _hours(one, zone):
            low, high = lows.setdefault(at.date(), {}), highs.setdefault(at.date(), {})
            low[at.hour] = min(one.low_c, low.get(at.hour, one.low_c))
            high[at.hour] = max(one.high_c, high.get(at.hour, one.high_c))
    found = {}
    for day in sorted(lows):
        pair = [
            min(lows[day].values()) if _covered(lows[day], _NIGHT) else None,
            max(highs[day].values()) if _covered(highs[day], _AFTERNOON) else None,
        ]
        if day >= today and any(value is not None for value in pair):
            found[day.isoformat()] = pair
    return found


def _hours(one: Reading, zone: ZoneInfo) -> list[datetime]:
    """Return the local hours a reading is of. A range over midnight says nothing of which side its extremes are on."""
    first, last = one.at.astimezone(zone), (one.until - timedelta(minutes=1)).astimezone(zone)
    if first.date() != last.date():
        return []
    day = datetime.combine(first.date(), time(0), zone)
    return [day.replace(hour=hour) for hour in range(first.hour, last.hour + 1)]


def _covered(hours: dict[int, float], span: tuple[int, int]) -> bool:
    """Say whether the hours of a span are known, gaps of up to three hours between."""
    known = sorted(hour for hour in hours if span[0] - 3 <= hour <= span[1] + 3)
    if not known or known[0] > span[0] or known[-1] < span[1] - 1:
        return False
    return all(later - earlier <= 3 for earlier, later in pairwise(known))


def _take(farm: Farm, now: datetime) -> bool:
    """Take the asking for a while, so that two workers do not ask at once; say whether it was there to take."""
    Forecast.objects.get_or_create(farm=farm)
    free = Q(retry_at=None) | Q(retry_at__lte=now)
    mine = Forecast.objects.filter(free, farm=farm)
    return bool(mine.update(tried_at=now, retry_at=now + LEAST_WAIT))


def _failed(farm: Farm, failure: NoForecast, now: datetime) -> None:
    row = Forecast.objects.get(farm=farm)
    failures = min(row.failures + 1, 1000)
    wait = min(FIRST_WAIT * 2 ** min(failures - 1, 10), LONGEST_WAIT)
    if failure.why == "refused":
        wait = REFUSED_WAIT
    wait = max(wait, failure.wait or wait)
    Forecast.objects.filter(pk=row.pk).update(failures=failures, error=failure.why, retry_at=now + wait)


def _save(farm: Farm, got: Got, days: dict[str, list[float | None]], now: datetime) -> None:
    """Keep a good forecast. The farm's version rises when it moves a date for going out: its agenda reads otherwise."""
    today = local_day(farm, now)
    with transaction.atomic():
        locks.farm(farm.pk)
        row = Forecast.objects.get(farm=farm)
        before = _dates(farm)
        oldest = (today - timedelta(days=KEPT_DAYS)).isoformat()
        past = {day: pair for day, pair in row.days.items() if oldest <= day < today.isoformat()}
        row.days, row.made_on, row.fetched_at = _joined(row.days, past, days), today, now
        row.failures, row.error = 0, ""
        row.retry_at = max(now + LEAST_WAIT, got.expires or now)
        row.save()
        if _dates(farm) != before:
            Farm.objects.filter(pk=farm.pk).update(version=F("version") + 1)
            dispatch.after_commit("refresh_calendars", farm_id=farm.pk)


def _joined(old: dict[str, Any], past: dict[str, Any], new: dict[str, list[float | None]]) -> dict[str, Any]:
    """Return the days of a new forecast after those that have passed.

    What today's hours no longer show (the low of the night that is over) stays as it was said.
    """
    joined = dict(past)
    for day, pair in new.items():
        known = old.get(day, [None, None])
        joined[day] = [mine if mine is not None else theirs for mine, theirs in zip(pair, known, strict=True)]
    return joined


def _dates(farm: Farm) -> list[tuple[date | None, date]]:
    """Return the dates that living batches may go out on."""
    sky = read.of(farm)
    if sky is None:
        return []
    rows = Batch.objects.filter(farm=farm).select_related("programme_version").order_by("pk")
    kinds = [(programmes.of(row), row.hatch_day) for row in rows]
    return [(sky.night(*kind).day, sky.day(*kind).day) for kind in kinds]
