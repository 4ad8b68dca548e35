"""Every rule the stays break, found by judges that trust no sum of `occupancy`.

A plan is judged here whatever made it. The judges read the rooms, groups and parts an `Occupancy` carries and
count birds by themselves; none uses its arrays.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from farm.planning import capacity, company, indoors, rest
from farm.planning.breach import Breach, worst_runs
from farm.planning.occupancy import Occupancy
from farm.planning.premises import Ints

__all__ = ["Breach", "breaches"]


def breaches(
    load: Occupancy,
    unhoused: Mapping[str, Ints] | None = None,
    apart: company.Apart | Collection[Collection[str]] = (),
) -> tuple[Breach, ...]:
    """Return every broken rule, one breach for each run of days, sorted by start, then room, then kind.

    unhoused: birds without a housing by group key and day, as `heads.by_stay` counts them. apart: the rule
    that parts two species, as `farm.trade.mixing.mixing().apart`, or the pairs that never share.
    """
    found = list(_unhoused(load, unhoused or {}))
    keep_apart = company.apart_from(apart)
    for inside in indoors.rooms(load):
        found += capacity.too_small(inside)
        found += capacity.no_heat(inside)
        found += capacity.out_of_service(inside)
        found += company.ages_too_far(inside)
        found += company.species_apart(inside, keep_apart)
        found += company.species_not_allowed(inside)
        found += company.more_than_one(inside)
        found += rest.too_soon(inside, keep_apart)
    return tuple(sorted(found, key=lambda one: (one.start, one.room or "", one.kind, one.groups)))


def _unhoused(load: Occupancy, unhoused: Mapping[str, Ints]) -> Iterator[Breach]:
    groups = {group.key: group for group in load.groups}
    for key, birds in unhoused.items():
        asked = birds * indoors.asked_by_day(groups[key], load.window, "area_m2")
        for run in worst_runs(asked, broken=birds > 0):
            yield run.breach(load.window, "unhoused", None, (key,), int(birds[run.worst]))
