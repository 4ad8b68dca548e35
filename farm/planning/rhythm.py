"""A batch every so many days for ever: how many equal housings that takes, by a law and by the planner.

Little's law, L = λW, bounds it from below whatever anybody plans: floor asked for a day of the rhythm, over the floor
of one housing. The planner then shows how many are enough.

J. D. C. Little, "A proof for the queuing formula: L = λW" (Operations Research 9, 1961).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from farm.phrase import N_, Phrase, Value
from farm.planning import shortfalls
from farm.planning.changes import with_birds
from farm.planning.loads import Ints, load
from farm.planning.problem import Arrival, Batch, Housing, PartSize, Problem
from farm.planning.solve import solve

#: Floor of the housing the birds go on to, dm²: never what is short.
AMPLE_DM2 = 10**7
#: Repairs of each plan tried; how many more housings than the bound are tried.
REPAIRS, MORE = 15, 6
#: The day a rhythm starts on, where it does not matter: a Saturday.
START = date(2031, 1, 4)


@dataclass(frozen=True, slots=True)
class Rhythm:
    """What a steady rhythm takes.

    bound: no fewer housings can do, by Little's law. needed: the fewest for which the planner found a place for
    everyone, batch after batch; None where even `tried` were too few. days: how long birds are in the kind at least.
    """

    name: str
    kind: str
    birds: int
    every_days: int
    days: int
    bound: int
    needed: int | None
    tried: int

    def sentence(self) -> Phrase:
        """Return both numbers in a sentence."""
        values: dict[str, Value] = {
            "birds": self.birds, "name": self.name, "every": self.every_days, "bound": self.bound,
            "needed": self.needed or self.tried, "days": self.days,
        }  # fmt: skip
        if self.needed is None:
            return Phrase(
                N_(
                    "%(birds)d birds (%(name)s) every %(every)d days take at least %(bound)d such housings by floor "
                    "and days; the planner found no plan with up to %(needed)d"
                ),
                values,
            )
        return Phrase(
            N_(
                "%(birds)d birds (%(name)s) every %(every)d days take %(needed)d such housing; by floor and days "
                "alone it is at least %(bound)d"
            ),
            values,
            N_(
                "%(birds)d birds (%(name)s) every %(every)d days take %(needed)d such housings; by floor and days "
                "alone it is at least %(bound)d"
            ),
            "needed",
        )


def steady(batch: Batch, every_days: int, birds: int, housing: Housing) -> Rhythm:
    """Return how many housings like `housing` a batch of `birds` every so many days takes.

    batch: a type as in `headroom`. It lives in the kind of `housing` as long as nothing else will do, and all other
    kinds are ample. Raises ValueError for a rhythm or birds below 1, a housing without floor, or a batch that would
    stay in it for ever.
    """
    if every_days < 1 or birds < 1 or housing.area_dm2 < 1:
        raise ValueError("a rhythm needs days, birds and floor")
    kind = replace(with_birds(batch, birds), history=(), parts=(), leaves=None, outdoors_from=None)
    ages = bound_ages(kind, housing)
    bound = littles_bound(kind, every_days, housing, ages)
    if not len(ages):
        return Rhythm(kind.name, housing.kind, birds, every_days, 0, 0, 0, 0)
    most = max(bound + MORE, 1)
    needed = next(
        (
            count
            for count in range(max(bound, 1), most + 1)
            if _enough(kind, every_days, housing, count, ages)
        ),
        None,
    )
    return Rhythm(kind.name, housing.kind, birds, every_days, len(ages), bound, needed, most)


def bound_ages(batch: Batch, housing: Housing) -> Ints:
    """Return the ages at which birds live in that kind of housing and in no other."""
    if batch.leave_age_days is not None:
        end = batch.leave_age_days
    else:
        begins = [stage.from_age for stage in batch.stages if not stage.kinds <= {housing.kind}]
        if not begins:
            raise ValueError("birds that never leave fill any number of housings")
        end = max(begins) + 1
    ages = np.arange(batch.age_at_arrival_days, max(end, batch.age_at_arrival_days))
    return np.array([age for age in ages.tolist() if _only(batch, housing.kind, age)], dtype=np.int64)


def littles_bound(batch: Batch, every_days: int, housing: Housing, ages: Ints) -> int:
    """Return Little's bound, rounded up: housings filled by a batch, added over its days, a day of the rhythm.

    Where a housing holds one batch at a time, a batch fills whole ones, and its rest counts as filled.
    """
    if not len(ages):
        return 0
    area = load(batch, batch.birds, ages).area_dm2
    if not housing.one_batch:
        return -(-int(area.sum()) // (every_days * housing.area_dm2))
    filled = np.maximum(-(-area // housing.area_dm2), 1)
    return -(-(int(filled.sum()) + housing.rest_days * int(filled[-1])) // every_days)


def _only(batch: Batch, kind: str, age: int) -> bool:
    suiting = [
        stage.kinds
        for stage in batch.stages
        if stage.from_age <= age and (stage.to_age is None or age < stage.to_age)
    ]
    return bool(suiting) and all(kinds <= {kind} for kinds in suiting)


def _enough(batch: Batch, every_days: int, housing: Housing, count: int, ages: Ints) -> bool:
    """Return whether so many housings do, each batch kept in as few equal parts as fit, or in twice as many."""
    peak = int(load(batch, batch.birds, ages).area_dm2.max())
    least = min(max(-(-peak // housing.area_dm2), 1), batch.birds)
    shares = {least} if housing.one_batch else {least, min(2 * least, batch.birds)}
    return any(
        _whole(_problem(batch, every_days, housing, count, each, len(ages))) for each in sorted(shares)
    )


def _whole(problem: Problem) -> bool:
    """Return whether the planner finds a place for everyone."""
    found = solve(problem, iterations=REPAIRS, report=lambda progress: progress.bill(problem).shortfall > 0)
    return not shortfalls.shortfalls(problem, found.plans)


def _problem(batch: Batch, every_days: int, housing: Housing, count: int, shares: int, days: int) -> Problem:
    """Return a farm of equal housings and ample others, with batches in equal parts for three times a batch's days.

    Once the first has left, as many leave as come: what holds to the end holds for ever.
    """
    repeats = 3 * -(-(days + housing.rest_days) // every_days) + 1
    each, over = divmod(batch.birds, shares)
    parts = tuple(PartSize(str(at + 1), each + (at < over)) for at in range(shares)) if shares > 1 else ()
    batches = tuple(
        replace(
            batch, key=f"batch-{at:03}", parts=parts, arrival=Arrival(START + timedelta(days=at * every_days))
        )
        for at in range(repeats)
    )
    equal = tuple(
        replace(
            housing, key=f"equal-{at:02}", name=f"{housing.name} {at + 1}", changes=(),
            in_service_from=None, in_service_to=None,
        )
        for at in range(count)
    )  # fmt: skip
    others = sorted({kind for stage in batch.stages for kind in stage.kinds} - {housing.kind})
    ample = tuple(
        Housing(f"other-{kind}", kind, kind, AMPLE_DM2, heated=True, indoor=True) for kind in others
    )
    return Problem(
        START, repeats * every_days + days + 1, (*equal, *ample), batches, move_weekdays=frozenset()
    )
