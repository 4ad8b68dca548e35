"""What the farm's stays as they are planned now fall short of, and the ways out of each shortfall."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property

from farm.models import Farm
from farm.planning import score, ways_out
from farm.planning import shortfalls as finder
from farm.planning.problem import Problem
from farm.planning.shortfalls import Shortfall
from farm.planning.solution import Solution
from farm.planning.ways_out import Answer, Told
from farm.queries import planning


@dataclass(frozen=True)
class Standing:
    """The farm's problem, with what is planned now as its solution."""

    problem: Problem

    @cached_property
    def solution(self) -> Solution:
        """Return what is planned now."""
        total = score.bill(self.problem, self.problem.adopted).total
        return Solution(self.problem.digest, self.problem.adopted, total, 0)

    @cached_property
    def shortfalls(self) -> tuple[Shortfall, ...]:
        """Return where birds lack floor, edge, heat or a housing, by the first day."""
        return finder.shortfalls(self.problem, self.problem.adopted)

    def ways(self, place: int, report: Told | None = None) -> Answer:
        """Return the ways out of the shortfall at a place of `shortfalls`, the cheapest first. Raises IndexError."""
        return ways_out.find(self.problem, self.solution, self.shortfalls[place], report)


def standing(farm: Farm, today: date) -> Standing:
    """Return how the farm stands as it is planned now."""
    return Standing(planning.problem(farm, today))
