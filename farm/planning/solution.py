"""What the planner answers: for every batch its parts and their stays, day by day, and what the plan costs.

Stays are half-open. They begin on the first day the plan covers (the problem's start for birds already here, else
their arrival), follow one another without a gap, and end when the birds leave or the plan's span ends.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from farm.planning import codec

VERSION = 1


@dataclass(frozen=True, slots=True)
class PlanStay:
    """Birds in `housing` over [start, end); housing None: the plan found no place for them on those days."""

    housing: str | None
    start: date
    end: date


@dataclass(frozen=True, slots=True)
class PlanPart:
    """`birds` of a batch, counted as the batch's `birds` are, that live together through `stays`."""

    key: str
    birds: int
    stays: tuple[PlanStay, ...]


@dataclass(frozen=True, slots=True)
class BatchPlan:
    """One batch: the day it arrives and where its parts live. The birds of the parts add up to the batch's."""

    batch: str
    arrival: date
    parts: tuple[PlanPart, ...]


@dataclass(frozen=True)
class Solution:
    """A plan for one problem.

    problem: digest of the problem solved. cost: the bill's total, exact. bound: no plan can cost less. Whether the
    plan is proved the best is `cost == bound`. iterations: how many repairs were tried; cancelled: whether the
    caller stopped them.
    """

    problem: str
    plans: tuple[BatchPlan, ...]
    cost: int
    bound: int
    seed: int = 0
    iterations: int = 0
    cancelled: bool = False
    version: int = VERSION

    def __post_init__(self) -> None:
        object.__setattr__(self, "plans", tuple(sorted(self.plans, key=lambda plan: plan.batch)))

    @property
    def gap(self) -> float:
        """Return the share of the cost that is not proved necessary, 0.0 when the plan is proved best."""
        return (self.cost - self.bound) / self.cost if self.cost else 0.0

    @cached_property
    def by_batch(self) -> Mapping[str, BatchPlan]:
        """Return the plan of each batch by its key."""
        return {plan.batch: plan for plan in self.plans}

    @cached_property
    def digest(self) -> str:
        """Return the digest of who lives where and when; how the plan was found does not change it."""
        return codec.digest(self.plans)

    def to_json(self) -> dict[str, Any]:
        """Return objects JSON knows; `from_json` is the exact inverse."""
        return {**codec.plain(self), "digest": self.digest}


def from_json(data: Mapping[str, Any]) -> Solution:
    """Return the solution `to_json` wrote. Raises codec.ReadingError with (path, message) pairs."""
    said = {key: value for key, value in data.items() if key != "digest"}
    found = codec.read(Solution, said)
    codec.refuse_other(found.version, VERSION, found.digest, data.get("digest"))
    return found
