"""What edits of a problem are made of: one batch or housing replaced, and what cannot be done said plainly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

from farm.phrase import N_, Phrase
from farm.planning import codec
from farm.planning.heads import shares
from farm.planning.problem import Batch, Capacity, Housing, PartSize, Problem


def with_birds(batch: Batch, birds: int) -> Batch:
    """Return the batch with another count; survivors are rounded up, the parts' birds by largest remainder."""
    parts = batch.parts
    if parts:
        scaled = shares(birds, {part.key: part.birds for part in parts})
        parts = tuple(PartSize(key, count) for key, count in scaled.items() if count)
    survivors = tuple(max(-(-kept * birds // batch.birds), 1) for kept in batch.survivors)
    return replace(batch, birds=birds, survivors=survivors, parts=parts)


def with_area(housing: Housing, area_dm2: int, start: date | None, end: date | None) -> Housing:
    """Return the housing with `area_dm2` over [start, end) and its own steps outside it."""
    steps = [Capacity(date.min, housing.area_dm2, housing.feeder_mm, housing.drinker_mm), *housing.changes]

    def at(day: date) -> Capacity:
        return replace([step for step in steps if step.day <= day][-1], day=day)

    first = start or date.min
    inside = [at(first), *(step for step in steps if first < step.day and (end is None or step.day < end))]
    found = [step for step in steps if step.day < first] + [
        replace(step, area_dm2=area_dm2) for step in inside
    ]
    found += [at(end)] if end is not None else []
    found += [step for step in steps if end is not None and step.day > end]
    base, *changes = found
    return replace(
        housing,
        area_dm2=base.area_dm2, feeder_mm=base.feeder_mm, drinker_mm=base.drinker_mm, changes=tuple(changes),
    )  # fmt: skip


def batch_of(problem: Problem, key: str) -> Batch:
    """Return the batch of a key. Raises codec.ReadingError."""
    for batch in problem.batches:
        if batch.key == key:
            return batch
    raise refused("batch", N_("names %(key)s, which is not there"), key)


def housing_of(problem: Problem, key: str) -> Housing:
    """Return the housing of a key. Raises codec.ReadingError."""
    for housing in problem.housings:
        if housing.key == key:
            return housing
    raise refused("housing", N_("names %(key)s, which is not there"), key)


def with_batch(problem: Problem, key: str, edit: Callable[[Batch], Batch]) -> Problem:
    """Return the problem with one batch edited. Raises codec.ReadingError for a key it does not have."""
    edited = edit(batch_of(problem, key))
    return replace(problem, batches=tuple(edited if each.key == key else each for each in problem.batches))


def with_housing(problem: Problem, key: str, edit: Callable[[Housing], Housing]) -> Problem:
    """Return the problem with one housing edited. Raises codec.ReadingError for a key it does not have."""
    edited = edit(housing_of(problem, key))
    return replace(problem, housings=tuple(edited if each.key == key else each for each in problem.housings))


def refused(path: str, text: str, key: str) -> codec.ReadingError:
    """Return the refusal of an edit: the field, and a text that names `key`."""
    return codec.ReadingError([(path, Phrase(text, {"key": key}))])
