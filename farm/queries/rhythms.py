"""What a repeating order takes of the farm's housing, by a law and by the planner."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from farm.models import Housing, OrderSeries
from farm.planning import rhythm
from farm.planning.problem import Arrival, Batch, Stage
from farm.planning.rhythm import Rhythm
from farm.queries import planning, programmes
from farm.queries.planned import new_batch

DAYS_A_WEEK = 7
#: Kinds of housing that only a rhythm knows: one like the keeper's, and whatever the birds live in before or after.
_THIS, _OTHER = "this", "other"


def of_series(series: OrderSeries, housing: Housing) -> Rhythm:
    """Return how many housings like `housing` the birds of a series take, batch after batch, until handed over.

    Heated housing has them as long as they need heat, other housing from then on (outdoor housing from when they may
    be out). Takes up to seconds the first time.
    """
    programme = programmes.of_version(programmes.latest(series.programme))
    batch = new_batch(
        programme,
        key="series",
        name=programme.name,
        birds=series.birds,
        arrival=Arrival(rhythm.START),
        leave_age_days=series.age_from_days,
    )
    like = replace(planning.housing(housing), kind=_THIS)
    batch = replace(batch, stages=_stages(batch, like.heated, like.indoor))
    return _steady(batch, DAYS_A_WEEK * series.every_weeks, series.birds, like)


def _stages(batch: Batch, heated: bool, indoor: bool) -> tuple[Stage, ...]:
    warm_to = next(age for age, heat in enumerate(batch.demand.heat) if not heat)
    if heated:
        return Stage(frozenset({_THIS}), 0, warm_to), Stage(frozenset({_OTHER}), warm_to)
    begins = warm_to if indoor else max(warm_to, batch.outdoors_age_days)
    return Stage(frozenset({_OTHER}), 0, begins), Stage(frozenset({_THIS}), begins)


_steady = lru_cache(maxsize=32)(rhythm.steady)
