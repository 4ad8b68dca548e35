"""What a repeating order takes of the farm's housing, by a law and by the planner."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from farm.models import Housing, OrderSeries
from farm.planning import problem as planning
from farm.planning import rhythm
from farm.planning.problem import Arrival
from farm.planning.rhythm import Rhythm
from farm.queries import planning as rows
from farm.queries import programmes
from farm.queries.planned import new_batch

DAYS_A_WEEK = 7


def of_series(series: OrderSeries, housing: Housing, today: date) -> Rhythm | None:
    """Return how many housings like `housing` take the birds of a series from their hatch until they are handed over.

    None for birds handed over within a day of their hatch: they need none. Takes up to seconds the first time.
    """
    if series.age_from_days < 1:
        return None
    programme = programmes.of_version(programmes.latest(series.programme))
    batch = new_batch(
        programme,
        key="series",
        name=programme.name,
        birds=series.birds,
        arrival=Arrival(today),
        leave_age_days=series.age_from_days,
    )
    return _steady(_Asked(batch, DAYS_A_WEEK * series.every_weeks, series.birds, rows.housing(housing)))


class _Asked:
    """A question of `rhythm.steady`: the same words again are the same question."""

    def __init__(self, batch: planning.Batch, every_days: int, birds: int, housing: planning.Housing) -> None:
        self.words = (batch, every_days, birds, housing)

    def __hash__(self) -> int:
        batch, every_days, birds, housing = self.words
        return hash((batch.name, batch.leave_age_days, every_days, birds, housing.key, housing.area_dm2))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and self.words == other.words


@lru_cache(maxsize=32)
def _steady(asked: _Asked) -> Rhythm:
    return rhythm.steady(*asked.words)
