"""Whether a housing suits a batch at an age and on a day, and what it gives: the rules solver and score share.

The judge of plans (`plan_check`) reads the same rules by itself.
"""

from __future__ import annotations

import numpy as np

from farm.planning.loads import Bools, Ints
from farm.planning.problem import Batch, Housing, Past
from farm.planning.window import Window


def given(housing: Housing, days: Window) -> tuple[Ints, Ints, Ints]:
    """Return the floor (dm²), feeder and drinker (mm) the housing gives on each day; 0 while out of service."""
    found = []
    for measure in ("area_dm2", "feeder_mm", "drinker_mm"):
        values = np.full(days.days, getattr(housing, measure), dtype=np.int64)
        for step in housing.changes:
            values[max(days.index(step.day), 0) :] = getattr(step, measure)
        if measure == "area_dm2":
            values[~in_service(housing, days)] = 0
        found.append(values)
    return found[0], found[1], found[2]


def in_service(housing: Housing, days: Window) -> Bools:
    """Return the days on which the housing is in use."""
    found = np.zeros(days.days, dtype=np.bool_)
    columns = days.clip(housing.in_service_from, housing.in_service_to)
    if columns is not None:
        found[columns] = True
    return found


def suitable(batch: Batch, housing: Housing, ages: Ints, days: Window) -> Bools:
    """Return the days on which the batch, of these ages, may live there, heat aside: kind, season, species, bans."""
    if housing.key in batch.forbidden or (housing.species and batch.species not in housing.species):
        return np.zeros(days.days, dtype=np.bool_)
    fits = np.zeros(days.days, dtype=np.bool_)
    for stage in batch.stages:
        if housing.kind in stage.kinds:
            fits |= (ages >= stage.from_age) & (
                ages < (stage.to_age if stage.to_age is not None else 1 << 40)
            )
    if not housing.indoor:
        fits &= ages >= batch.outdoors_age_days
        if batch.outdoors_from is not None:
            fits &= np.arange(days.days) >= days.index(batch.outdoors_from)
    return fits & in_service(housing, days)


def needs_heat(batch: Batch, ages: Ints) -> Bools:
    """Return the ages at which the batch needs a heated housing."""
    heat = np.array(batch.demand.heat, dtype=np.bool_)
    return np.asarray(heat[np.minimum(ages, len(heat) - 1)])


def warm(batch: Batch, housing: Housing, ages: Ints) -> Bools:
    """Return the ages at which the housing is warm enough for the batch."""
    return ~needs_heat(batch, ages) | housing.heated


def last_past(batch: Batch, part: str) -> Past | None:
    """Return where the part, named by its key, has been last; None for birds not here yet."""
    own = [past for past in batch.history if past.part in ("", part)]
    return max(own, key=lambda past: past.end, default=None)
