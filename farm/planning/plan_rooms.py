"""A plan as `occupancy` reads it: the board, the judges of breaches and their sentences work on plans too."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from farm.planning.occupancy import Occupancy, occupancy
from farm.planning.premises import Bools, Floats, Group, Part, Room
from farm.planning.problem import Batch, Housing, Problem
from farm.planning.solution import BatchPlan, PlanPart
from farm.planning.window import Window

DAYS_PER_WEEK = 7


@dataclass(frozen=True, slots=True, eq=False)
class _Needs:
    area_m2: Floats
    feeder_cm: Floats
    drinker_cm: Floats
    heat: Bools


def load(problem: Problem, plans: Iterable[BatchPlan]) -> Occupancy:
    """Return the occupancy of these plans over the problem's window; birds nowhere are in no room.

    Every room has its base capacity: steps in `Housing.changes` are not seen here.
    """
    listed = tuple(plans)
    batches = {batch.key: batch for batch in problem.batches}
    groups = tuple(_group(batches[plan.batch], plan) for plan in listed)
    parts = [
        _part(problem.window, batches[plan.batch], plan, part, place)
        for plan in listed
        for part in plan.parts
        for place, stay in enumerate(part.stays)
        if stay.housing is not None
    ]
    return occupancy(problem.window, [room(housing) for housing in problem.housings], groups, parts)


def room(housing: Housing) -> Room:
    """Return a housing as `occupancy` reads it."""
    return Room(
        key=housing.key,
        name=housing.name,
        area_m2=housing.area_dm2 / 100,
        feeder_cm=housing.feeder_mm / 10,
        drinker_cm=housing.drinker_mm / 10,
        heated=housing.heated,
        indoor=housing.indoor,
        one_batch=housing.one_batch,
        max_age_gap_days=housing.max_age_gap_days,
        rest_days=housing.rest_days,
        in_service_from=housing.in_service_from,
        in_service_to=housing.in_service_to,
        species=housing.species,
    )


def _group(batch: Batch, plan: BatchPlan) -> Group:
    demand = batch.demand
    needs = _Needs(
        np.array(demand.area_mm2) / 1e6,
        np.array(demand.feeder_um) / 1e4,
        np.array(demand.drinker_um) / 1e4,
        np.array(demand.heat, dtype=np.bool_),
    )
    hatched = plan.arrival - timedelta(days=batch.age_at_arrival_days)
    return Group(batch.key, batch.name, batch.species, hatched, needs, batch.name)


def _part(window: Window, batch: Batch, plan: BatchPlan, part: PlanPart, place: int) -> Part:
    stay = part.stays[place]
    assert stay.housing is not None
    birds = np.zeros(window.days, dtype=np.int64)
    columns = window.clip(stay.start, stay.end)
    if columns is not None:
        age = np.arange(columns.start, columns.stop) - window.index(plan.arrival) + batch.age_at_arrival_days
        alive = np.full(len(age), part.birds)
        if batch.survivors:
            weeks = np.clip(age // DAYS_PER_WEEK, 0, len(batch.survivors) - 1)
            alive = -(-part.birds * np.array(batch.survivors)[weeks] // batch.birds)
        birds[columns] = alive
    return Part(f"{batch.key}/{part.key}/{place}", batch.key, stay.housing, stay.start, stay.end, birds)
