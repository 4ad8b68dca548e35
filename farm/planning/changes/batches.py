"""Edits of batches and of what the keeper says about them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from farm.phrase import N_
from farm.planning.changes.edits import batch_of, housing_of, refused, with_batch, with_birds
from farm.planning.loads import leave_day
from farm.planning.problem import Arrival, Batch, Pin, Problem


@dataclass(frozen=True, slots=True)
class AddBatch:
    """One batch more."""

    batch: Batch

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the batch in it."""
        if any(batch.key == self.batch.key for batch in problem.batches):
            raise refused(
                "batch.key", N_("%(key)s is there already: give the new one its own"), self.batch.key
            )
        return replace(problem, batches=(*problem.batches, self.batch))


@dataclass(frozen=True, slots=True)
class DropBatch:
    """A batch that is not here yet does not come."""

    batch: str

    def apply(self, problem: Problem) -> Problem:
        """Return the problem without the batch, its pins and its adopted plan."""
        if batch_of(problem, self.batch).history:
            raise refused("batch", N_("%(key)s is here already: give it a day to leave"), self.batch)
        return replace(
            problem,
            batches=tuple(each for each in problem.batches if each.key != self.batch),
            pins=tuple(pin for pin in problem.pins if pin.batch != self.batch),
            adopted=tuple(plan for plan in problem.adopted if plan.batch != self.batch),
        )


@dataclass(frozen=True, slots=True)
class MoveArrival:
    """A batch that is not here yet arrives on `day`, and on no other."""

    batch: str
    day: date

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the one arrival day."""
        if batch_of(problem, self.batch).history:
            raise refused("batch", N_("%(key)s is here already"), self.batch)
        if self.day < problem.start:
            raise refused("day", N_("%(key)s is before the plan's first day"), self.day.isoformat())
        return with_batch(problem, self.batch, lambda batch: replace(batch, arrival=Arrival(self.day)))


@dataclass(frozen=True, slots=True)
class ChangeBirds:
    """A batch has `birds`, its survivors and parts in proportion."""

    batch: str
    birds: int

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the other count."""
        if self.birds < 1:
            raise refused("birds", N_("%(key)s needs at least one bird: leave it out instead"), self.batch)
        return with_batch(problem, self.batch, lambda batch: with_birds(batch, self.birds))


@dataclass(frozen=True, slots=True)
class LeaveEarly:
    """A batch leaves `days` earlier than planned."""

    batch: str
    days: int

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the earlier day to leave."""
        found = batch_of(problem, self.batch)
        leaves = leave_day(found, found.arrival.day)
        if leaves is None:
            raise refused("batch", N_("%(key)s has no day to leave yet: give it one"), self.batch)
        if leaves - timedelta(days=self.days) <= max(found.arrival.day, problem.start):
            raise refused("days", N_("%(key)s would leave before it is here"), self.batch)
        return with_batch(
            problem,
            self.batch,
            lambda batch: replace(
                batch,
                leave_age_days=None if batch.leave_age_days is None else batch.leave_age_days - self.days,
                leaves=None if batch.leaves is None else batch.leaves - timedelta(days=self.days),
            ),
        )


@dataclass(frozen=True, slots=True)
class AllowSplit:
    """A batch may live in up to `parts` parts."""

    batch: str
    parts: int

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the batch in up to so many parts."""
        if self.parts < 2:
            raise refused("parts", N_("%(key)s needs at least 2 parts to be split"), self.batch)
        return with_batch(problem, self.batch, lambda batch: replace(batch, max_parts=self.parts))


@dataclass(frozen=True, slots=True)
class ForbidHousing:
    """A batch is kept out of a housing."""

    batch: str
    housing: str

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the housing ruled out for the batch."""
        housing_of(problem, self.housing)
        return with_batch(
            problem, self.batch, lambda batch: replace(batch, forbidden=batch.forbidden | {self.housing})
        )


@dataclass(frozen=True, slots=True)
class PinStay:
    """A batch, or its named part, is in a housing over [start, end)."""

    batch: str
    housing: str
    start: date
    end: date
    part: str = ""

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the pin."""
        batch_of(problem, self.batch)
        housing_of(problem, self.housing)
        if self.end <= self.start:
            raise refused("end", N_("%(key)s is not after the start: give a later end"), self.end.isoformat())
        pin = Pin(self.batch, self.housing, self.start, self.end, self.part)
        return replace(problem, pins=(*problem.pins, pin))


@dataclass(frozen=True, slots=True)
class DropPins:
    """All pins of a batch are lifted."""

    batch: str

    def apply(self, problem: Problem) -> Problem:
        """Return the problem without the pins."""
        batch_of(problem, self.batch)
        return replace(problem, pins=tuple(pin for pin in problem.pins if pin.batch != self.batch))
