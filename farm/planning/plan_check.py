"""The judge of plans: every way a solution can be wrong, found day by day in plain Python.

It shares no code with the solver or the score: it reads the problem's own words. A shortage of room is not a fault (the
bill counts it); breaking a rule is. A fault is *forced* where a pin or the past leaves no choice: such a one is
reported to the keeper, any other is a defect of the planner.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import combinations

from farm.planning.plan_shape import DAY, KINDS, Fault, shape
from farm.planning.problem import Batch, Housing, Past, Pin, Problem
from farm.planning.solution import PlanPart, Solution

__all__ = ["KINDS", "Fault", "faults"]


def faults(problem: Problem, solution: Solution) -> tuple[Fault, ...]:
    """Return every fault, those that are not forced first, then by day."""
    found = list(shape(problem, solution))
    if not found:
        judge = _Judge(problem, solution)
        found = [*judge.fixed(), *judge.rules(), *judge.company(), *judge.rest()]
    return tuple(
        sorted(found, key=lambda one: (one.forced, one.start, one.kind, one.batches, one.housing or ""))
    )


@dataclass(frozen=True, slots=True)
class _Stand:
    """One part in one housing on one day."""

    batch: Batch
    age: int
    heat: bool
    forced: bool


class _Judge:
    def __init__(self, problem: Problem, solution: Solution) -> None:
        self.problem = problem
        self.batches: Mapping[str, Batch] = {batch.key: batch for batch in problem.batches}
        self.housings: Mapping[str, Housing] = {housing.key: housing for housing in problem.housings}
        self.parts = [
            (self.batches[plan.batch], plan, part) for plan in solution.plans for part in plan.parts
        ]
        self.stands: dict[tuple[str, date], list[_Stand]] = defaultdict(list)
        for batch, plan, part in self.parts:
            fixed = self.fixed_days(batch, part)
            for stay in part.stays:
                if stay.housing is not None:
                    for at in range((stay.end - stay.start).days):
                        day = stay.start + at * DAY
                        age = (day - plan.arrival).days + batch.age_at_arrival_days
                        heat = batch.demand.heat[min(age, len(batch.demand.heat) - 1)]
                        forced = fixed.get(day) == stay.housing
                        self.stands[stay.housing, day].append(_Stand(batch, age, heat, forced))

    def fixed_days(self, batch: Batch, part: PlanPart) -> dict[date, str]:
        """Return where the past or a pin has the part on each day; the past, then earlier pins, hold against later."""
        found: dict[date, str] = {}
        held: list[Past | Pin] = [past for past in batch.history if past.part in ("", part.key)]
        held += sorted(self.pins(batch, part), key=lambda pin: (pin.start, pin.end, pin.housing))
        for fixed in held:
            for at in range((fixed.end - fixed.start).days):
                found.setdefault(fixed.start + at * DAY, fixed.housing)
        return found

    def pins(self, batch: Batch, part: PlanPart) -> list[Pin]:
        return [pin for pin in self.problem.pins if pin.batch == batch.key and pin.part in ("", part.key)]

    def fixed(self) -> Iterator[Fault]:
        """Yield where the past or a pin is not kept."""
        for batch, _, part in self.parts:
            where = {
                stay.start + at * DAY: stay.housing
                for stay in part.stays
                for at in range((stay.end - stay.start).days)
            }
            fixed = self.fixed_days(batch, part)
            for past in batch.history:
                if past.part in ("", part.key):
                    changed = [
                        day
                        for day in _days(max(past.start, self.problem.start), past.end)
                        if where.get(day) != past.housing
                    ]
                    if changed:
                        yield Fault("past", (batch.key,), past.housing, changed[0], changed[-1] + DAY)
            for pin in self.pins(batch, part):
                missed = [
                    day
                    for day in _days(max(pin.start, self.problem.start), pin.end)
                    if where.get(day) != pin.housing
                ]
                if missed:
                    could = any(day in where and fixed[day] == pin.housing for day in missed)
                    yield Fault(
                        "pin", (batch.key,), pin.housing, missed[0], missed[-1] + DAY, forced=not could
                    )
            yield from self.short_stays(batch, part)

    def short_stays(self, batch: Batch, part: PlanPart) -> Iterator[Fault]:
        edges = {edge for pin in self.pins(batch, part) for edge in (pin.start, pin.end)}
        edges |= {past.end for past in batch.history}
        for at, stay in enumerate(part.stays):
            if stay.housing is None or not at > 0 or stay.start in edges or stay.end in edges:
                continue
            if (
                stay.end - stay.start
            ).days < batch.min_stay_days and stay.end < self.problem.start + self.problem.days * DAY:
                yield Fault("short_stay", (batch.key,), stay.housing, stay.start, stay.end)

    def rules(self) -> Iterator[Fault]:
        """Yield where a housing does not suit a batch by itself."""
        for (key, day), stands in self.stands.items():
            housing = self.housings[key]
            for stand in stands:
                for kind in _unsuitable(housing, stand, day):
                    yield Fault(kind, (stand.batch.key,), key, day, day + DAY, stand.forced)

    def company(self) -> Iterator[Fault]:
        """Yield where batches may not be together."""
        for (key, day), stands in self.stands.items():
            housing = self.housings[key]
            for one, other in combinations(stands, 2):
                if one.batch.key == other.batch.key:
                    continue
                for kind in self._quarrels(housing, one, other):
                    names = tuple(sorted((one.batch.key, other.batch.key)))
                    yield Fault(kind, names, key, day, day + DAY, one.forced and other.forced)

    def _quarrels(self, housing: Housing, one: _Stand, other: _Stand) -> Iterator[str]:
        if housing.one_batch:
            yield "one_batch"
        if housing.max_age_gap_days is not None and abs(one.age - other.age) > housing.max_age_gap_days:
            yield "age_gap"
        for rule in self.problem.apart:
            pair = {(one.batch.species, other.batch.species), (other.batch.species, one.batch.species)}
            if (rule.one, rule.other) in pair and (not rule.brooding_only or one.heat or other.heat):
                yield "apart"

    def rest(self) -> Iterator[Fault]:
        """Yield where a batch moves in while the housing must still rest after another."""
        stays: dict[str, dict[str, set[date]]] = defaultdict(lambda: defaultdict(set))
        for (key, day), stands in self.stands.items():
            for stand in stands:
                stays[key][stand.batch.key].add(day)
        for batch in self.problem.batches:
            for past in batch.history:
                stays[past.housing][batch.key] |= set(_days(past.start, past.end))
        edges = self._edges()
        for key, by_batch in stays.items():
            visits = [(first, stop, name) for name, days in by_batch.items() for first, stop in _runs(days)]
            outs = [(stop, self.batches[name].species, name) for _, stop, name in visits]
            outs += [(left.day, left.species, "") for left in self.problem.left if left.housing == key]
            for first, stop, name in visits:
                for out, species, other in outs:
                    if other != name and out <= first and first >= self.problem.start:
                        ready = (
                            out
                            + self._rest_days(self.housings[key], self.batches[name].species, species) * DAY
                        )
                        if ready > first:
                            forced = (name, first) in edges or (other, out) in edges
                            yield Fault("rest", (name, other), key, first, min(ready, stop), forced)

    def _edges(self) -> set[tuple[str, date]]:
        """Return the days on which something fixed about a batch begins or ends."""
        fixed: list[tuple[str, Past | Pin]] = [(pin.batch, pin) for pin in self.problem.pins]
        fixed += [(batch.key, past) for batch in self.problem.batches for past in batch.history]
        edges = {(key, edge) for key, one in fixed for edge in (one.start, one.end)}
        # A pin cut by the past or another pin begins where that ends; one that began before the birds, with them.
        return edges | {
            (plan.batch, plan.arrival)
            for _, plan, _ in self.parts
            if any(p.batch == plan.batch for p in self.problem.pins)
        }

    def _rest_days(self, housing: Housing, one: str, other: str) -> int:
        ground = [
            rule.ground_rest_days
            for rule in self.problem.apart
            if not housing.indoor
            and not rule.brooding_only
            and (rule.one, rule.other) in ((one, other), (other, one))
        ]
        return max([housing.rest_days, *ground])


def _unsuitable(housing: Housing, stand: _Stand, day: date) -> Iterator[str]:
    batch = stand.batch
    if not any(
        housing.kind in stage.kinds
        and stage.from_age <= stand.age
        and (stage.to_age is None or stand.age < stage.to_age)
        for stage in batch.stages
    ):
        yield "kind"
    if stand.heat and not housing.heated:
        yield "heat"
    if not housing.indoor and (
        stand.age < batch.outdoors_age_days or (batch.outdoors_from is not None and day < batch.outdoors_from)
    ):
        yield "outdoors"
    if (housing.in_service_from is not None and day < housing.in_service_from) or (
        housing.in_service_to is not None and day >= housing.in_service_to
    ):
        yield "service"
    if housing.species and batch.species not in housing.species:
        yield "species"
    if housing.key in batch.forbidden:
        yield "forbidden"


def _days(start: date, end: date) -> Iterator[date]:
    return (start + at * DAY for at in range((end - start).days))


def _runs(days: set[date]) -> Iterator[tuple[date, date]]:
    """Yield the half-open runs of consecutive days."""
    for first in sorted(day for day in days if day - DAY not in days):
        stop = first
        while stop in days:
            stop += DAY
        yield first, stop
