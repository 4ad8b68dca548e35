"""A finished plan as the engine's arrays again, over as many days as a question about the future needs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from farm.planning.ground import Ground
from farm.planning.loads import leave_day
from farm.planning.problem import Batch, Problem
from farm.planning.solution import BatchPlan, PlanPart
from farm.planning.state import Entry, State


def of(problem: Problem, plans: Iterable[BatchPlan], days: int = 1) -> State:
    """Return the farm with everyone where the plan has them, over at least `days` days from the problem's start.

    Birds without a day to leave stay on where the plan has them last.
    """
    ground = Ground(replace(problem, days=max(days, problem.days), adopted=()))
    state = State(ground)
    place = {batch.key: at for at, batch in enumerate(ground.batches)}
    for plan in plans:
        batch = ground.batches[place[plan.batch]]
        for part in plan.parts:
            for entry in entries(ground, batch, place[plan.batch], plan, part):
                arrival = ground.days.index(plan.arrival)
                state.place(entry, ground.loads(batch, part.birds, arrival, entry.start, entry.stop))
    return state


def entries(ground: Ground, batch: Batch, place: int, plan: BatchPlan, part: PlanPart) -> list[Entry]:
    """Return a part's stays in housing as the state takes them, its past before them, those in one housing joined."""
    index, arrival = ground.days.index, ground.days.index(plan.arrival)
    stays: list[tuple[str | None, int, int]] = [
        (past.housing, index(past.start), index(past.end))
        for past in batch.history
        if past.part in ("", part.key)
    ]
    stays += [(stay.housing, index(stay.start), index(stay.end)) for stay in part.stays]
    leaves = leave_day(batch, plan.arrival) is not None
    joined: list[tuple[str | None, int, int]] = []
    for housing, start, end in stays:
        # History that reaches into the plan is in its stays as well.
        if joined and joined[-1][0] == housing and joined[-1][2] >= start:
            joined[-1] = (housing, joined[-1][1], max(end, joined[-1][2]))
        else:
            joined.append((housing, start, end))
    if not leaves and joined:
        joined[-1] = (*joined[-1][:2], ground.width)
    return [
        Entry(
            row=ground.row[housing],
            start=max(start, 0),
            stop=max(end, 0),
            end=None if end == ground.width and not leaves else end,
            begin=start,
            batch=place,
            hatch=arrival - batch.age_at_arrival_days,
            species=batch.species,
            brood_end=arrival - batch.age_at_arrival_days + _brooding_days(batch),
        )
        for housing, start, end in joined
        if housing is not None
    ]


def _brooding_days(batch: Batch) -> int:
    """Return the first age from which the birds never need heat again."""
    warm = [age for age, heat in enumerate(batch.demand.heat) if heat]
    if not warm:
        return 0
    return 1 << 30 if warm[-1] == len(batch.demand.heat) - 1 else warm[-1] + 1
