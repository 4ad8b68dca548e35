"""What happened in a room on the day it became too small: a batch passed an age, or birds came in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from farm.planning.breach import Breach
from farm.planning.capacity import MEASURES
from farm.planning.occupancy import Occupancy
from farm.planning.premises import Group


@dataclass(frozen=True, slots=True)
class Cause:
    """Why a room is asked for more than the day before.

    kind: "age" (the birds of `group` ask for more from this day of age on), "arrival" (the group was not in
    the room the day before) or "more" (further birds of it join). age_days: the group's age that day.
    """

    kind: str
    group: str
    age_days: int


def cause(breach: Breach, load: Occupancy) -> Cause | None:
    """Return what raised a room, feeder or drinker breach on its worst day by the most; None if nothing rose.

    Nothing is known of the day before the window but which stays had begun, so a room already too small on
    the window's first day has a cause only if a batch's age or a stay's start falls on that day.
    """
    if breach.kind not in MEASURES:
        return None
    rises = list(_rises(breach, load))
    return max(rises, key=lambda rise: (rise[0], rise[1].group))[1] if rises else None


def _rises(breach: Breach, load: Occupancy) -> Iterator[tuple[float, Cause]]:
    measure = MEASURES[breach.kind]
    for group in load.groups:
        now = _birds(load, breach.room, group.key, breach.worst)
        before = _birds(load, breach.room, group.key, breach.worst - timedelta(days=1))
        age = (breach.worst - group.hatch_day).days
        asks, asked = _per_bird(group, measure, age), _per_bird(group, measure, age - 1)
        if now and before and asks > asked:
            yield min(now, before) * (asks - asked), Cause("age", group.key, age)
        if now > before:
            yield (now - before) * asks, Cause("more" if before else "arrival", group.key, age)


def _birds(load: Occupancy, room: str | None, group: str, day: date) -> int:
    """Return the group's birds in the room; before the window, the first day's in stays begun by then."""
    column = max(load.window.index(day), 0)
    return sum(
        int(part.birds[column])
        for part in load.parts
        if part.room == room and part.group == group and part.start <= day
    )


def _per_bird(group: Group, measure: str, age: int) -> float:
    values = getattr(group.needs, measure)
    return 0.0 if age < 0 else float(values[min(age, len(values) - 1)])
