"""A farm's forecast as pages show it: how old it is, who made it, and why there may be none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings

from farm.models import Farm, Forecast, Weather
from farm.phrase import N_, Phrase

#: A forecast got longer ago is stale: kept and shown, but nothing is alarmed by it. Project default (judgement).
FRESH = timedelta(hours=24)

#: Why there is no newer forecast, by `Forecast.error`.
WHY: Mapping[str, str] = {
    "unreachable": N_("The weather service could not be reached."),
    "slow": N_("The weather service took too long to answer."),
    "busy": N_("The weather service asked for patience."),
    "refused": N_(
        "The weather service refused the question. Whoever runs this server should look at its terms."
    ),
    "failed": N_("The weather service had trouble of its own."),
    "unreadable": N_("The weather service's answer could not be read."),
    "elsewhere": N_("The weather service answered for another place."),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """How asking for a forecast stands. got_at: of the last good one. why: none newer came, None when all is well.

    able: somebody has set whom the service may write to. placed: the farm's place is known.
    """

    asked: bool
    able: bool
    placed: bool
    got_at: datetime | None
    stale: bool
    why: Phrase | None
    credit: str


def shown(farm: Farm, row: Weather | None, now: datetime) -> Shown:
    """Return how a farm's forecast stands. One query."""
    last = Forecast.objects.filter(farm=farm).first()
    why = WHY.get(last.error) if last and last.error else None
    return Shown(
        asked=row is not None and row.use_forecast,
        able=bool(settings.FORECAST_CONTACT),
        placed=farm.latitude is not None and farm.longitude is not None,
        got_at=None if last is None else last.fetched_at,
        stale=not is_fresh(last, now),
        why=Phrase(why) if why else None,
        credit=settings.FORECAST_CREDIT,
    )


def is_fresh(last: Forecast | None, now: datetime) -> bool:
    """Say whether a forecast is young enough to alarm anybody."""
    return last is not None and last.fetched_at is not None and now - last.fetched_at <= FRESH
