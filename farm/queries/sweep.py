"""How each farm stands, so that the hourly sweep sends jobs to those alone that something may have happened to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db.models import Q

from farm.models import Alert, Farm, Forecast

#: Farms read at a time: project default (judgement)
PAGE = 500

_UNTOLD = Q(withdrawn_at__isnull=True, told_at__isnull=True) | Q(
    withdrawn_at__isnull=False, told_at__isnull=False, taken_back_at__isnull=True
)


def pages(now: datetime, size: int = PAGE) -> Iterator[dict[int, str]]:
    """Yield all open farms, some at a time: number -> how it stands. Three queries a page."""
    last = 0
    while True:
        rows = Farm.objects.filter(closing_on__isnull=True, pk__gt=last).order_by("pk")
        found = list(rows.values_list("pk", "version", "time_zone")[:size])
        if not found:
            return
        yield _stands(found, now)
        if len(found) < size:
            return
        last = found[-1][0]


def stand(farm_id: int, now: datetime) -> str:
    """Return how one farm stands; "" for one that is gone or closed, and for one that has something to tell."""
    rows = Farm.objects.filter(closing_on__isnull=True, pk=farm_id)
    return _stands(list(rows.values_list("pk", "version", "time_zone")), now).get(farm_id, "")


def _stands(rows: Sequence[tuple[int, int, str]], now: datetime) -> dict[int, str]:
    """Return number -> its version, local day and last forecast: these alike, the same jobs change nothing.

    "" where a letter about an alert still waits, or the day is not known: then jobs are worth sending in any case.
    """
    ids = [pk for pk, _version, _zone in rows]
    told = dict(Forecast.objects.filter(farm__in=ids).values_list("farm_id", "fetched_at"))
    waiting = set(Alert.objects.filter(_UNTOLD, farm__in=ids).values_list("farm_id", flat=True))
    days = {zone: _day(zone, now) for zone in {zone for _pk, _version, zone in rows}}
    return {
        pk: "" if pk in waiting or days[zone] is None else f"{version} {days[zone]} {told.get(pk)}"
        for pk, version, zone in rows
    }


def _day(zone: str, now: datetime) -> date | None:
    """Return the day there; None for a zone this machine does not know: only that farm's own jobs trip over it."""
    try:
        return now.astimezone(ZoneInfo(zone)).date()
    except (ZoneInfoNotFoundError, ValueError):
        return None
