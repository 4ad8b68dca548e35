"""What no rota costs less than, each wish by itself; which holds for every rota that fills the seats that can be."""

from __future__ import annotations

from itertools import combinations
from math import gcd

from farm.planning.rota.choices import choices
from farm.planning.rota.draft import Plan
from farm.planning.rota.fair import fair
from farm.planning.rota.records import RotaProblem

#: People of a cell counted out; where so many are too few, one more is sure and no more is claimed.
COUNTED_OUT = 3
#: What rounding may have added to a distance in minutes.
ROUNDING = 1e-9


def lower_bound(problem: RotaProblem) -> float:
    """Return a cost below which no rota can be: see `least`. ValueError as in `choices`."""
    open_ = choices(problem)
    return least(Plan(problem, open_, fair(problem, open_).targets))


def least(plan: Plan) -> float:
    """Return the sum of what each wish costs at least, were it the only one; no weight may be below 0.

    It is proven but cheap: where wishes are at odds (fair parts against whole rounds), the best rota costs more.
    """
    weights = plan.problem.weights
    empty = sum(job.people - seats for job, seats in zip(plan.open.jobs, plan.seats, strict=True))
    cost = weights.unfilled * empty + weights.deviation * deviation(plan) + weights.over * over(plan)
    cells = range(len(plan.in_cell))
    cost += weights.block * sum(_crowd(plan, cell) - 1 for cell in cells if _seats(plan, cell))
    return cost + weights.change * changes(plan) + weights.touched * sum(_lost(plan, cell) for cell in cells)


def deviation(plan: Plan) -> float:
    """Return how near to their target somebody can come at best whose minutes are a sum of whole chores."""
    worst = 0.0
    for person, target in zip(plan.open.people, plan.targets, strict=True):
        bit = plan.bit[person.key]
        step = gcd(*(minutes for minutes, may in zip(plan.minutes, plan.may, strict=True) if may & bit))
        missing = target - person.done
        off = missing % step if step else abs(missing)
        worst = max(worst, min(off, step - off) if step else off)
    return max(0.0, worst - ROUNDING)


def over(plan: Plan) -> int:
    """Return the minutes above the wishes that nobody can be spared: week by week, the more of what falls to single
    people and of what all together don't want."""
    people = range(len(plan.wish))
    sure = [[0] * plan.weeks for _ in people]
    most = [[0] * plan.weeks for _ in people]
    work = [0] * plan.weeks
    for at, minutes in enumerate(plan.minutes):
        may, week = plan.may[at], plan.week[at]
        work[week] += plan.seats[at] * minutes
        forced = may if may.bit_count() == plan.seats[at] else plan.pinned[at]
        for person in people:
            most[person][week] += minutes * (may >> person & 1)
            sure[person][week] += minutes * (forced >> person & 1)
    found = 0
    for week in range(plan.weeks):
        single = sum(max(0, sure[person][week] - plan.wish[person]) for person in people)
        found += max(single, work[week] - sum(min(plan.wish[p], most[p][week]) for p in people))
    return found


def changes(plan: Plan) -> int:
    """Return how often chores change hands at least: each is kept by the same people as long as any could keep it."""
    found = 0
    for first, earlier in enumerate(plan.earlier):
        if earlier >= 0:
            continue
        at, may, pinned = first, plan.may[first], plan.pinned[first]
        while (after := plan.later[at]) >= 0:
            may, pinned = may & plan.may[after], pinned | plan.pinned[after]
            seats = plan.seats[after]
            kept = seats == plan.seats[at] and may.bit_count() >= seats
            if not kept or pinned & ~may or pinned.bit_count() > seats:
                found += 1
                may, pinned = plan.may[after], plan.pinned[after]
            at = after
    return found


def _seats(plan: Plan, cell: int) -> int:
    return sum(plan.seats[at] for at in plan.in_cell[cell])


def _crowd(plan: Plan, cell: int) -> int:
    """Return the fewest people who can do a cell."""
    asked = {(plan.may[at], plan.seats[at]) for at in plan.in_cell[cell] if plan.seats[at]}
    fixed = 0
    for at in plan.in_cell[cell]:
        fixed |= plan.pinned[at]
    bits = [bit for bit in plan.bit.values() if bit & plan.cell_may[cell] & ~fixed]
    start = fixed.bit_count()
    for more in range(max(0, COUNTED_OUT - start) + 1):
        if any(_enough(asked, fixed | sum(people)) for people in combinations(bits, more)):
            return start + more
    return max(start, COUNTED_OUT + 1)


def _enough(asked: set[tuple[int, int]], people: int) -> bool:
    return all((may & people).bit_count() >= seats for may, seats in asked)


def _lost(plan: Plan, cell: int) -> bool:
    """Say whether those who had a cell can't have it again, alone and all of them."""
    before, jobs = plan.before[cell], plan.in_cell[cell]
    if not before:
        return False
    short = any((plan.may[at] & before).bit_count() < plan.seats[at] for at in jobs)
    strange = before & ~plan.cell_may[cell] or any(plan.pinned[at] & ~before for at in jobs)
    return bool(short or strange or before.bit_count() > _seats(plan, cell))
