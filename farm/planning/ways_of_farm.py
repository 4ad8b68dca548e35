"""Ways out that change the farm or others: more floor, a borrowed housing, a rest day waived, another batch moved."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import numpy as np

from farm.phrase import N_, Phrase, Quantity, Value
from farm.planning.breach import runs
from farm.planning.changes import AddHousing, Change, ChangeArea, WaiveRest, apply_all
from farm.planning.loads import load
from farm.planning.problem import Housing
from farm.planning.solution import BatchPlan
from farm.planning.tables import tables
from farm.planning.ways import EFFORT, Way
from farm.planning.ways_of_batch import OfBatch
from farm.planning.yard import Yard, fitted, lives

BORROWED = "borrowed"
CAUTION = N_(
    "Rest days break the chain of disease from one batch to the next: clean and disinfect all the same, and keep "
    "the rest if birds were ill; follow your local code, the product label and your vet. (Common practice, no source)"
)


class OfFarm:
    """The ways around one batch of a case that leave the batch itself as it is."""

    def __init__(self, of_batch: OfBatch) -> None:
        self.own, self.case, self.batch = of_batch, of_batch.case, of_batch.batch
        self.plan, self.rest, self.problem = of_batch.plan, of_batch.rest, of_batch.case.problem

    def area(self) -> Iterator[Way]:
        """Yield more floor where the way with the least shortage, or the plan as it is, lacks it."""
        attempt = self.own.yard.attempt(self.batch, self.plan.arrival)
        for plans in (self.case.solution.plans, (*self.rest, attempt.plan)):
            changes, dm2_days, extra = self._floor(plans)
            if not changes:
                continue
            first = changes[0]
            values: dict[str, Value] = {
                "room": next(
                    housing.name for housing in self.problem.housings if housing.key == first.housing
                ),
                "area": Quantity(extra / 100, "m2", 2),
                "first": first.start or self.problem.start,
                "last": (first.end or self.problem.start) - timedelta(days=1),
                "more": len(changes) - 1,
            }
            text = N_("%(room)s has %(area)s more from %(first)s to %(last)s")
            if len(changes) > 1:
                text = N_("%(room)s has %(area)s more from %(first)s to %(last)s, and %(more)d more such")
            way = self.case.verified(
                "area", tuple(changes), plans, Phrase(text, values), dm2_days * EFFORT["dm2_day"]
            )
            if way is not None:
                yield way
                return

    def _floor(self, plans: tuple[BatchPlan, ...]) -> tuple[list[ChangeArea], int, int]:
        """Return the floor that would end every shortage while the batch is here, its dm²·days, and the first's dm²."""
        table, breach = tables(self.problem, fitted(self.problem, plans)), self.case.shortfall.breach
        over = np.maximum(table.area - table.area_given, 0)
        found, days, extra = list[ChangeArea](), 0, 0
        first, last = (table.days.index(day) for day in lives(self.plan, self.problem))
        for row in np.flatnonzero(over[:, first:last].any(axis=1)):
            if (
                breach.kind == "room"
                and plans is self.case.solution.plans
                and self.problem.housings[row].key != breach.room
            ):
                continue
            for start, stop in runs(over[row] > 0):
                if start < last and first < stop:
                    area = int(table.area[row, start:stop].max())
                    found.append(
                        ChangeArea(
                            self.problem.housings[row].key, area, table.days.day(start), table.days.day(stop)
                        )
                    )
                    extra = extra or int(over[row, start:stop].max())
                    days += int((area - table.area_given[row, start:stop]).sum())
        return found, days, extra

    def borrow(self) -> Iterator[Way]:
        """Yield a housing borrowed for the days of the shortfall, else for as long as the batch may use it."""
        breach = self.case.shortfall.breach
        for start, end in dict.fromkeys([(breach.start, breach.end), *self._stage_days()]):
            housing = self._borrowed(start, end)
            if housing is None:
                continue
            change = AddHousing(housing)
            yard = Yard(change.apply(self.problem), self.rest, self.own.yard.ground.width)
            attempt = yard.attempt(self.batch, self.plan.arrival)
            if attempt.short or not any(
                stay.housing == housing.key for part in attempt.plan.parts for stay in part.stays
            ):
                continue
            values: dict[str, Value] = {
                "kind": housing.kind, "area": Quantity(housing.area_dm2 / 100, "m2", 2), "batch": self.batch.name,
                "first": start, "last": end - timedelta(days=1),
            }  # fmt: skip
            text = N_("Borrow a %(kind)s of %(area)s from %(first)s to %(last)s for %(batch)s")
            if housing.heated:
                text = N_("Borrow a heated %(kind)s of %(area)s from %(first)s to %(last)s for %(batch)s")
            effort = EFFORT["borrow"] + housing.area_dm2 * (end - start).days * EFFORT["dm2_day"]
            way = self.case.verified(
                "borrow", (change,), (*self.rest, attempt.plan), Phrase(text, values), effort
            )
            if way is not None:
                yield way
                return

    def _age(self, day: date) -> int:
        return (day - self.plan.arrival).days + self.batch.age_at_arrival_days

    def _stage_days(self) -> list[tuple[date, date]]:
        """Return the days of the batch's stages that hold the worst day, clipped to its life."""
        first, last = lives(self.plan, self.problem)
        age = self._age(self.case.shortfall.breach.worst)
        found = []
        for stage in self.batch.stages:
            if stage.from_age <= age and (stage.to_age is None or age < stage.to_age):
                start = first + timedelta(days=max(stage.from_age - self._age(first), 0))
                end = (
                    last
                    if stage.to_age is None
                    else min(first + timedelta(days=stage.to_age - self._age(first)), last)
                )
                found.append((start, end))
        return found

    def _borrowed(self, start: date, end: date) -> Housing | None:
        """Return a housing just large enough for the batch on these days, of a kind that suits its ages all along."""
        first, last = lives(self.plan, self.problem)
        start, end = max(start, first), min(end, last)
        if start >= end:
            return None
        young, old = self._age(start), self._age(end) - 1
        kinds = [
            sorted(stage.kinds)[0]
            for stage in self.batch.stages
            if stage.from_age <= young and (stage.to_age is None or old < stage.to_age)
        ]
        alike = [housing for housing in self.problem.housings if kinds and housing.kind == kinds[0]]
        if not kinds or not alike:
            return None
        asks = load(self.batch, self.batch.birds, np.arange(young, old + 1))
        return Housing(
            key=BORROWED,
            name=BORROWED,
            kind=kinds[0],
            area_dm2=int(asks.area_dm2.max()),
            heated=bool(asks.cold.any()),
            indoor=alike[0].indoor,
            one_batch=True,
            in_service_from=start,
            in_service_to=end,
        )

    def waive(self) -> Iterator[Way]:
        """Yield one rest shortened by the fewest days that help."""
        resting = [housing for housing in self.problem.housings if housing.rest_days]
        everywhere = tuple(WaiveRest(housing.key, housing.rest_days) for housing in resting)
        if not resting or self._waived(everywhere) is None:
            return
        for housing in resting:
            fewest = next(
                (
                    days
                    for days in range(1, housing.rest_days + 1)
                    if self._waived((WaiveRest(housing.key, days),))
                ),
                None,
            )
            if fewest is None:
                continue
            phrase = Phrase(
                N_("%(room)s rests %(days)d day less before or after %(batch)s"),
                {"room": housing.name, "days": fewest, "batch": self.batch.name},
                N_("%(room)s rests %(days)d days less before or after %(batch)s"),
                "days",
            )
            plan = self._waived((WaiveRest(housing.key, fewest),))
            assert plan is not None
            way = self.case.verified(
                "rest", (WaiveRest(housing.key, fewest),), (*self.rest, plan), phrase,
                fewest * EFFORT["rest_day"], Phrase(CAUTION),
            )  # fmt: skip
            if way is not None:
                yield way
                return

    def _waived(self, changes: tuple[Change, ...]) -> BatchPlan | None:
        yard = Yard(apply_all(self.problem, changes), self.rest, self.own.yard.ground.width)
        attempt = yard.attempt(self.batch, self.plan.arrival)
        return None if attempt.short else attempt.plan
