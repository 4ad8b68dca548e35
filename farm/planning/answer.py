"""From a draft's columns to a solution's days, and from an adopted plan's days back to a draft's columns."""

from __future__ import annotations

from collections.abc import Sequence

from farm.planning import insert
from farm.planning.atlas import Placement, Portion, Sizes
from farm.planning.draft import Draft
from farm.planning.fixed import Fixed
from farm.planning.ground import BLOCKED
from farm.planning.heads import shares
from farm.planning.insert import Leg
from farm.planning.lanes import NOWHERE, Lane
from farm.planning.solution import BatchPlan, PlanPart, PlanStay


def plans(draft: Draft, placed: Sequence[Placement | None] | None = None) -> tuple[BatchPlan, ...]:
    """Return the plan of every placed batch, of the draft as it stands or of other placements in it."""
    chosen = draft.placed if placed is None else placed
    return tuple(_plan(draft, batch, found) for batch, found in enumerate(chosen) if found is not None)


def _plan(draft: Draft, batch: int, placement: Placement) -> BatchPlan:
    ground = draft.ground
    parts = tuple(
        PlanPart(draft.atlas.key(batch, place), portion.birds, _stays(draft, portion))
        for place, portion in enumerate(placement.portions)
    )
    return BatchPlan(ground.batches[batch].key, ground.days.day(placement.arrival), parts)


def _stays(draft: Draft, portion: Portion) -> tuple[PlanStay, ...]:
    ground, found = draft.ground, list[PlanStay]()
    for row, start, end in (*portion.lane.past, *portion.legs):
        if end <= 0:
            continue
        housing = None if row == NOWHERE else ground.housings[row].key
        first = ground.days.day(max(start, 0))
        if found and found[-1].housing == housing and found[-1].end == first:
            first = found.pop().start
        found.append(PlanStay(housing, first, ground.days.day(end)))
    return tuple(found)


def placement(draft: Draft, batch: int, plan: BatchPlan) -> Placement | None:
    """Return the placement an adopted plan describes, None where it no longer fits the batch or the farm as it is now.

    Birds are scaled to the batch's count today; the last stay is cut or drawn out to the day the birds leave.
    """
    atlas, ground = draft.atlas, draft.ground
    arrival = ground.days.index(plan.arrival)
    sizes = _sizes(draft, batch, plan)
    if arrival not in atlas.arrivals[batch] or sizes is None:
        return None
    portions = []
    for place, birds in enumerate(sizes):
        lane = atlas.lane(batch, place, arrival)
        legs = _legs(draft, lane, plan.parts[place])
        if legs is None:
            return None
        portions.append(atlas.portion(batch, birds, lane, legs))
    return Placement(arrival, tuple(portions))


def allowed(draft: Draft, batch: int, found: Placement) -> bool:
    """Return whether a batch that is out may be placed like this now, alone or beside its own parts."""
    if not all(_long_enough(portion) for portion in found.portions):
        return False
    draft.cost += draft.reserve(batch, -1)
    fits = True
    for portion in found.portions:
        loads = draft.atlas.loads(batch, portion.birds, portion.lane)
        with draft.state.blind_to(batch):
            fits &= insert.price(draft.state, portion.lane, portion.legs, *loads) < BLOCKED
    draft.cost += draft.reserve(batch, 1)
    return fits


def _long_enough(portion: Portion) -> bool:
    """Return whether no stay is shorter than it must be; one that goes on after the plan's last day never is."""
    lane = portion.lane
    local, bound = lane.row_of, lane.bound_of
    return all(
        lane.may_end(local[leg.row], bound[leg.start], bound[leg.end])
        or (leg.end == lane.end and not lane.leaves)
        for leg in portion.legs
    )


def _sizes(draft: Draft, batch: int, plan: BatchPlan) -> Sizes | None:
    given, whole = draft.ground.batches[batch], draft.atlas.whole[batch]
    if given.parts or len(plan.parts) == 1:
        return whole if len(plan.parts) == len(whole) else None
    weights = {str(place).zfill(4): part.birds for place, part in enumerate(plan.parts)}
    total = sum(weights.values())
    if not 1 < len(plan.parts) <= draft.atlas.most_parts(batch) or total < 1:
        return None
    if total == given.birds:
        return tuple(part.birds for part in plan.parts)
    scaled = {key: birds * given.birds for key, birds in weights.items()}
    sizes = tuple(shares(given.birds, scaled).values())
    return sizes if min(sizes) > 0 else None


def _legs(draft: Draft, lane: Lane, part: PlanPart) -> tuple[Leg, ...] | None:
    days, found = draft.ground.days, list[Fixed]()
    for stay in part.stays:
        row = NOWHERE if stay.housing is None else draft.ground.row.get(stay.housing)
        start, end = max(days.index(stay.start), lane.first), min(days.index(stay.end), lane.end)
        if row is None:
            return None
        if found and (found[-1].row, found[-1].end) == (row, start):
            start = found.pop().start
        if start < end:
            found.append(Fixed(row, start, end))
    if not found or found[0].start != lane.first:
        return None
    found[-1] = found[-1]._replace(end=lane.end)
    known = all(each.row in lane.row_of and {each.start, each.end} <= lane.bound_of.keys() for each in found)
    return tuple(Leg(*stay) for stay in found) if known else None
