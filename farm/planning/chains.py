"""A lane's legs as the stays of a plan."""

from __future__ import annotations

from collections.abc import Iterable

from farm.planning.ground import Ground
from farm.planning.insert import NOWHERE
from farm.planning.lanes import Lane
from farm.planning.solution import PlanStay


def stays(ground: Ground, lane: Lane, legs: Iterable[tuple[int, int, int]]) -> tuple[PlanStay, ...]:
    """Return legs (row, first column, column after) behind the lane's past; those that go on in one housing are joined.

    The past before the plan's first day is left out.
    """
    days, found = ground.days, list[PlanStay]()
    for row, start, end in (*lane.past, *legs):
        if end <= 0:
            continue
        housing, first = None if row == NOWHERE else ground.housings[row].key, days.day(max(start, 0))
        if found and found[-1].housing == housing and found[-1].end == first:
            first = found.pop().start
        found.append(PlanStay(housing, first, days.day(end)))
    return tuple(found)
