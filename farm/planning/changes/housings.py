"""Edits of housings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from farm.phrase import N_
from farm.planning.changes.edits import refused, with_area, with_housing
from farm.planning.problem import Housing, Problem


@dataclass(frozen=True, slots=True)
class AddHousing:
    """One housing more: bought, built or borrowed (`in_service_from`, `in_service_to`)."""

    housing: Housing

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the housing."""
        if any(housing.key == self.housing.key for housing in problem.housings):
            raise refused(
                "housing.key", N_("%(key)s is there already: give the new one its own"), self.housing.key
            )
        return replace(problem, housings=(*problem.housings, self.housing))


@dataclass(frozen=True, slots=True)
class LoseHousing:
    """A housing cannot be used over [start, end); end None: for good."""

    housing: str
    start: date
    end: date | None = None

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the housing out of use."""
        if self.end is not None:
            return ChangeArea(self.housing, 0, self.start, self.end).apply(problem)

        def lose(housing: Housing) -> Housing:
            if housing.in_service_from is not None and self.start <= housing.in_service_from:
                raise refused("start", N_("%(key)s is not in use before that day anyway"), self.housing)
            last = self.start if housing.in_service_to is None else min(self.start, housing.in_service_to)
            return replace(housing, in_service_to=last)

        return with_housing(problem, self.housing, lose)


@dataclass(frozen=True, slots=True)
class ChangeArea:
    """A housing gives `area_dm2` of floor over [start, end), None an open side."""

    housing: str
    area_dm2: int
    start: date | None = None
    end: date | None = None

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the other floor area."""
        if self.area_dm2 < 0:
            raise refused("area_dm2", N_("%(key)s cannot have less floor than none"), self.housing)
        if self.start is not None and self.end is not None and self.end <= self.start:
            raise refused("end", N_("%(key)s is not after the start: give a later end"), self.end.isoformat())
        return with_housing(
            problem, self.housing, lambda housing: with_area(housing, self.area_dm2, self.start, self.end)
        )


@dataclass(frozen=True, slots=True)
class WaiveRest:
    """A housing rests `days` fewer after birds have left it."""

    housing: str
    days: int

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the shorter rest."""
        return with_housing(
            problem,
            self.housing,
            lambda housing: replace(housing, rest_days=max(housing.rest_days - self.days, 0)),
        )
