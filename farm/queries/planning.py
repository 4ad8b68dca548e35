"""A farm's rows as a planning problem. Batches and housings are keyed by their numbers, as text.

A plan moves nobody on the day it is made: what happens today is written by those who do it. So birds that are here stay
where they are until tomorrow, and from then on only pins hold them. Stays with a recorded reason for going against the
programme are pins too: a computation must not overrule the keeper's reason.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Batch, Farm, Housing
from farm.planning import problem as planning
from farm.planning.problem import Apart, Left, Problem
from farm.queries import heads, weather
from farm.queries.planned import Planned, earliest_outdoors, is_fixed, new_batch
from farm.queries.weather import Sky
from farm.trade import mixing

__all__ = ["earliest_outdoors", "housing", "is_fixed", "is_gone", "new_batch", "problem", "rows"]

#: How far ahead is planned: as far as shortfalls are looked for. Project default (judgement).
PLAN_DAYS = 400
#: A batch that arrives late in that time is still planned for so long. Project default (judgement).
DAYS_AFTER_ARRIVAL = 120
_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Rows:
    """What a problem is built from, read once: the farm's housings, its batches with ledgers and stays, its weather."""

    farm: Farm
    housings: tuple[Housing, ...]
    batches: tuple[Batch, ...]
    sky: Sky | None = None


def rows(farm: Farm) -> Rows:
    """Read what plans depend on. Five queries, however many batches; two more where the farm has a climate."""
    batches = (
        Batch.objects.filter(farm=farm)
        .select_related("programme_version")
        .prefetch_related("count_entries", "stays")
    )
    return Rows(farm, tuple(Housing.objects.filter(farm=farm)), tuple(batches), weather.of(farm))


def problem(
    farm: Farm,
    today: date,
    *,
    days: int = PLAN_DAYS,
    sure: float | None = None,
    species: Collection[str] = (),
    arrivals: Collection[date] = (),
    read: Rows | None = None,
) -> Problem:
    """Return the farm's planning problem from `today` on.

    sure: plan for the number of birds not exceeded with this chance (0.95), by the programme's losses; None plans
    for no further losses, the safe side. species, arrivals: further ones that will be tried on it. read: rows already
    read.
    """
    found = read or rows(farm)
    here = [batch for batch in found.batches if not is_gone(batch, today)]
    last = max([today, *arrivals, *(batch.arrived_on for batch in here)])
    days = max(days, (last - today).days + DAYS_AFTER_ARRIVAL)
    made = [Planned(batch, today, today + timedelta(days=days), sure, found.sky) for batch in here]
    known = {batch.species for batch in found.batches} | set(species)
    gone = [batch for batch in found.batches if is_gone(batch, today)]
    rules = apart(known)
    longest = max(
        [*(row.rest_days for row in found.housings), *(rule.ground_rest_days for rule in rules)], default=0
    )
    return Problem(
        start=today,
        days=days,
        housings=tuple(housing(row) for row in found.housings),
        batches=tuple(one.batch for one in made),
        pins=tuple(pin for one in made for pin in one.pins),
        apart=rules,
        left=tuple(left for batch in gone for left in _left(batch, today, longest)),
        adopted=tuple(one.adopted for one in made),
        move_weekdays=frozenset(farm.move_weekdays),
    )


def housing(row: Housing) -> planning.Housing:
    """Return one housing. Room is rounded down to whole dm² and mm, the safe side."""
    return planning.Housing(
        key=str(row.pk),
        name=row.name,
        kind=row.kind,
        area_dm2=_down(row.area_m2 * 100),
        feeder_mm=_down(row.feeder_cm * 10),
        drinker_mm=_down(row.drinker_cm * 10),
        heated=row.heated,
        indoor=row.indoor,
        one_batch=row.one_batch,
        max_age_gap_days=row.max_age_gap_days,
        rest_days=row.rest_days,
        species=frozenset(row.species),
        in_service_from=row.in_service_from,
        in_service_to=row.in_service_to,
    )


def apart(species: Collection[str]) -> tuple[Apart, ...]:
    """Return which of these species never share a housing, now or one after the other on the same ground."""
    return tuple(
        Apart(one, other, brooding_only=rule.scope == "brooding", ground_rest_days=rule.rest_days)
        for rule in mixing.mixing().pairs
        for one in sorted(rule.one & set(species))
        for other in sorted(rule.other & set(species))
    )


def is_gone(batch: Batch, today: date) -> bool:
    """Say whether there is nothing left to plan: no birds, or they leave by tomorrow."""
    if heads.alive_on(batch, max(today, batch.arrived_on)) < 1:
        return True
    return batch.leaves_on is not None and batch.arrived_on <= today < batch.leaves_on <= today + _DAY


def _left(batch: Batch, today: date, longest_rest: int) -> Iterator[Left]:
    """Yield where birds that are gone were, until when, as long as the housing may still rest."""
    gone = heads.gone_on(batch) or today + _DAY
    for stay in batch.stays.all():
        day = min(stay.end or gone, gone)
        if stay.start <= today and stay.start < day and today < day + longest_rest * _DAY:
            yield Left(str(stay.housing_id), batch.species, day)


def _down(value: float) -> int:
    return math.floor(round(value, 3))
