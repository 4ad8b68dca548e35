"""What a farm's birds and weather give cause to alarm about, now."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from farm.husbandry import heat
from farm.husbandry.going_out import Shelter, nights
from farm.husbandry.outlook import Forecast, Outlook
from farm.models import Batch, Farm, Housing
from farm.models import Forecast as Stored
from farm.models.weather import AlertKind
from farm.queries import forecasts, heads, loss_watch, programmes, weather
from farm.trade.general import figure
from farm.trade.programme import Programme

_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Cause:
    """Something to alarm about. day: of the night's evening, the hot day or the losses. values: what words need.

    sure: enough to raise an alert; where not, only one that stands already is kept, so that none comes and goes.
    """

    kind: AlertKind
    key: str
    day: date
    values: dict[str, Any] = field(default_factory=dict)
    sure: bool = True
    batch: Batch | None = None
    housing: Housing | None = None


@dataclass(frozen=True)
class Causes:
    """All causes of a farm, and the kinds of which something is known now: alerts of others stay as they are."""

    causes: tuple[Cause, ...]
    known: frozenset[str]


def of(farm: Farm, today: date, now: datetime) -> Causes:
    """Return what there is to alarm about: losses, and nights and days while the forecast is fresh."""
    rows = (
        Batch.objects.filter(farm=farm, expected=False)
        .select_related("programme_version")
        .prefetch_related("count_entries", "stays__housing")
        .order_by("pk")
    )
    alive = [row for row in rows if heads.alive_on(row, today) > 0]
    found = [cause for row in alive for cause in _losses(row, today)]
    known = {AlertKind.LOSSES}
    outlook = _fresh(farm, now)
    if outlook is not None and outlook.forecast is not None:
        known |= {AlertKind.COLD, AlertKind.HOT}
        found += [cause for row in alive for cause in _cold(row, outlook, outlook.forecast, today)]
        found += _hot(outlook, outlook.forecast, today) if alive else ()
    return Causes(tuple(found), frozenset(kind.value for kind in known))


def _fresh(farm: Farm, now: datetime) -> Outlook | None:
    """Return the outlook while a forecast younger than a day is in it."""
    row = weather.stored(farm)
    if row is None or not forecasts.is_fresh(Stored.objects.filter(farm=farm).first(), now):
        return None
    return weather.outlook_of(row)


def _ahead(today: date) -> list[date]:
    return [today + _DAY * i for i in range(int(figure("outdoors", "alert_days")))]


def _cold(row: Batch, outlook: Outlook, told: Forecast, today: date) -> Iterator[Cause]:
    """Yield the forecast nights that may be colder than the birds bear where they are or are planned to be."""
    programme = programmes.of(row)
    for day in _ahead(today):
        low = told.lows_c.get(day + _DAY)
        if low is None:
            continue
        for housing in {
            stay.housing_id: stay.housing for stay, _birds in heads.places_on(row, day)[0]
        }.values():
            shelter = _shelter(housing, programme, (day - row.hatch_day).days)
            if shelter is None:
                continue
            (night,) = nights(programme, row.hatch_day, outlook, shelter, [day])
            sure = _sure(1 - night.chance)
            if sure is not None:
                values = {"low_c": low, "outside_c": night.outside_c}
                key = f"cold:{row.pk}:{housing.pk}:{day}"
                yield Cause(AlertKind.COLD, key, day, values, sure, row, housing)


def _shelter(housing: Housing, programme: Programme, age_days: int) -> Shelter | None:
    """Return where birds spend the night, None where they need heat and have it: its thermometer speaks then."""
    if housing.heated and heat.needs_heat(programme, [age_days])[0]:
        return None
    return weather.shelter_of(housing)


def _hot(outlook: Outlook, told: Forecast, today: date) -> Iterator[Cause]:
    limit = figure("outdoors", "heat_alarm_c")
    for day in _ahead(today):
        high = told.highs_c.get(day)
        if high is not None:
            sure = _sure(float(outlook.chance_high_at_least([day], limit)[0]))
            if sure is not None:
                yield Cause(AlertKind.HOT, f"hot:{day}", day, {"high_c": high}, sure)


def _losses(row: Batch, today: date) -> Iterator[Cause]:
    for alarm in loss_watch.lately(row, today):
        day = row.hatch_day + _DAY * alarm.age_days
        key = f"losses:{row.pk}:{day}:{alarm.kind.replace(' ', '-')}"
        yield Cause(AlertKind.LOSSES, key, day, asdict(alarm), batch=row)


def _sure(chance: float) -> bool | None:
    """Say whether a chance raises an alert (True), keeps one (False), or neither (None)."""
    if chance >= figure("outdoors", "alert_chance"):
        return True
    return False if chance >= figure("outdoors", "alert_keep_chance") else None
