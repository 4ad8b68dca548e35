"""Advice about a batch from what was noted: warmer or cooler, and what the last weighing says."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from farm.husbandry import heat
from farm.husbandry.advice import warmth, weighing
from farm.husbandry.advice.warmth import Advice, Reading, Seen
from farm.husbandry.advice.weighing import Weighed
from farm.models import Batch, Observation
from farm.models.observation import ObservationKind
from farm.queries import heads, programmes
from farm.trade import behaviours
from farm.trade.general import figure


@dataclass(frozen=True, slots=True)
class Weight:
    """The last weighing of a batch and what it says."""

    day: date
    age_days: int
    said: Weighed


def warm(batch: Batch, today: date, now: datetime) -> Advice | None:
    """Return whether a batch wants it warmer or cooler; None once its age needs no heat, or before it is here.

    What was noted of its housing alone counts too, but less than what was noted of the birds in it.
    """
    programme, age = programmes.of(batch), (today - batch.hatch_day).days
    if batch.expected or age < 0 or not heads.alive_on(batch, today):
        return None
    if not heat.needs_heat(programme, [age])[0]:
        return None
    places = {stay.housing_id for stay, _birds in heads.places_on(batch, today)[0]}
    since = now - timedelta(hours=figure("warmth", "seen_hours"))
    noted = Observation.objects.filter(
        Q(batch=batch) | Q(batch=None, housing_id__in=places),
        farm_id=batch.farm_id,
        at__gte=since,
        at__lte=now,
    )
    readings, seen = [], []
    for one in noted:
        near = warmth.NEAREST if one.batch_id and one.housing_id in places else warmth.NEAR
        if one.kind == ObservationKind.TEMPERATURE and one.value is not None:
            readings.append(Reading(one.at, one.value, near))
        elif one.kind == ObservationKind.BEHAVIOUR and one.word in behaviours.behaviours():
            seen.append(Seen(one.at, one.word, near))
    return warmth.advise(programme, age, readings, seen, now)


def weight(batch: Batch, today: date) -> Weight | None:
    """Return what the last weighing says, None when there is none of the last weeks."""
    zone = ZoneInfo(batch.farm.time_zone)
    last = batch.observations.filter(kind=ObservationKind.WEIGHT, value__gt=0).order_by("-at").first()
    if last is None or last.value is None:
        return None
    day = last.at.astimezone(zone).date()
    age = (day - batch.hatch_day).days
    if age < 0 or (today - day).days > figure("weighing", "recent_days"):
        return None
    said = weighing.weighed(programmes.of(batch), age, batch.sex, last.value, last.birds or 1)
    return Weight(day, age, said)
