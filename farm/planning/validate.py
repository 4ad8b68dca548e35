"""What makes a problem impossible to plan, said with the field and the fix before anything is solved.

A plan with shortfalls is an answer; a housing smaller than one bird is a typing error. Pins that contradict each
other are allowed: `solve` keeps what can be kept and `pins.unkept` says what could not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from farm.phrase import N_, Phrase
from farm.planning.codec import ReadingError, Trouble
from farm.planning.loads import MM2_PER_DM2, leave_day
from farm.planning.problem import Batch, Housing, Problem


def problems(problem: Problem) -> tuple[Trouble, ...]:
    """Return every (path, message) that must be put right, in the order of the problem's fields."""
    found = [("days", Phrase(N_("must be at least 1")))] if problem.days < 1 else []
    found += _twice("housings", [housing.key for housing in problem.housings])
    found += _twice("batches", [batch.key for batch in problem.batches])
    smallest = min((min(batch.demand.area_mm2, default=0) for batch in problem.batches), default=0)
    for place, housing in enumerate(problem.housings):
        found += _housing(f"housings[{place}]", housing, smallest)
    known = frozenset(housing.key for housing in problem.housings)
    for place, batch in enumerate(problem.batches):
        found += _batch(f"batches[{place}]", batch, known, problem.start)
    found += _references(problem, known)
    wrong = [day for day in problem.move_weekdays if not 0 <= day <= 6]
    return tuple(
        found + ([("move_weekdays", Phrase(N_("must be 0 (Monday) to 6 (Sunday)")))] if wrong else [])
    )


def refuse(problem: Problem) -> None:
    """Raise codec.ReadingError with all `problems`, if there are any."""
    found = problems(problem)
    if found:
        raise ReadingError(list(found))


def _twice(path: str, keys: Sequence[str]) -> Iterator[Trouble]:
    for key in sorted({key for key in keys if keys.count(key) > 1}):
        yield path, Phrase(N_("two of them have the key %(key)s: give each its own"), {"key": key})


def _backward(path: str, first: date | None, stop: date | None) -> Iterator[Trouble]:
    if first is not None and stop is not None and stop <= first:
        values = {"first": first, "stop": stop}
        yield path, Phrase(N_("ends on %(stop)s, not after its start on %(first)s: give a later end"), values)


def _housing(path: str, housing: Housing, smallest_mm2: int) -> Iterator[Trouble]:
    if housing.area_dm2 * MM2_PER_DM2 < max(smallest_mm2, 1):
        yield (
            f"{path}.area_dm2",
            Phrase(N_("%(name)s is smaller than one bird: give its floor area"), {"name": housing.name}),
        )
    for name in ("feeder_mm", "drinker_mm", "rest_days"):
        if getattr(housing, name) < 0:
            yield f"{path}.{name}", Phrase(N_("must not be below zero"))
    if housing.max_age_gap_days is not None and housing.max_age_gap_days < 0:
        yield f"{path}.max_age_gap_days", Phrase(N_("must not be below zero"))
    yield from _backward(f"{path}.in_service_to", housing.in_service_from, housing.in_service_to)
    for place, step in enumerate(housing.changes):
        if min(step.area_dm2, step.feeder_mm, step.drinker_mm) < 0:
            yield f"{path}.changes[{place}]", Phrase(N_("must not be below zero"))


def _batch(path: str, batch: Batch, housings: frozenset[str], start: date) -> Iterator[Trouble]:
    if batch.birds < 1:
        yield (
            f"{path}.birds",
            Phrase(N_("%(name)s has no birds: give a number, or leave the batch out"), {"name": batch.name}),
        )
    if any(not 1 <= alive <= batch.birds for alive in batch.survivors):
        yield f"{path}.survivors", Phrase(N_("must be between 1 and the birds of the batch"))
    yield from _demand(f"{path}.demand", batch)
    yield from _life(path, batch, start)
    yield from _gaps(f"{path}.stages", batch)
    if batch.max_parts < 1:
        yield f"{path}.max_parts", Phrase(N_("must be at least 1"))
    if batch.min_stay_days < 1:
        yield f"{path}.min_stay_days", Phrase(N_("must be at least 1"))
    yield from _parts(path, batch, housings)


def _parts(path: str, batch: Batch, housings: frozenset[str]) -> Iterator[Trouble]:
    yield from _twice(f"{path}.parts", [part.key for part in batch.parts])
    if batch.parts and sum(part.birds for part in batch.parts) != batch.birds:
        yield (
            f"{path}.parts",
            Phrase(N_("add up to another number than the batch's %(birds)d birds"), {"birds": batch.birds}),
        )
    if any(part.birds < 1 for part in batch.parts):
        yield f"{path}.parts", Phrase(N_("need at least one bird each"))
    for key in sorted(batch.forbidden - housings):
        yield f"{path}.forbidden", _unknown(key)
    for place, past in enumerate(batch.history):
        yield from _backward(f"{path}.history[{place}].end", past.start, past.end)
        if past.housing not in housings:
            yield f"{path}.history[{place}].housing", _unknown(past.housing)
        if past.part and past.part not in {part.key for part in batch.parts}:
            yield f"{path}.history[{place}].part", _unknown(past.part)


def _demand(path: str, batch: Batch) -> Iterator[Trouble]:
    demand = batch.demand
    sizes = {len(demand.area_mm2), len(demand.feeder_um), len(demand.drinker_um), len(demand.heat)}
    if len(sizes) > 1 or 0 in sizes:
        yield path, Phrase(N_("must give area, feeder, drinker and heat for the same ages, from day 0"))
    if any(area < 1 for area in demand.area_mm2):
        yield f"{path}.area_mm2", Phrase(N_("must be above zero at every age"))
    if any(edge < 0 for edge in (*demand.feeder_um, *demand.drinker_um)):
        yield path, Phrase(N_("must not be below zero"))


def _life(path: str, batch: Batch, start: date) -> Iterator[Trouble]:
    arrival = batch.arrival
    yield from _backward(f"{path}.arrival.before", arrival.earliest or arrival.day, arrival.before)
    if any(not 0 <= day <= 6 for day in arrival.weekdays):
        yield f"{path}.arrival.weekdays", Phrase(N_("must be 0 (Monday) to 6 (Sunday)"))
    if batch.age_at_arrival_days < 0:
        yield f"{path}.age_at_arrival_days", Phrase(N_("must not be below zero"))
    if batch.leave_age_days is not None and batch.leave_age_days <= batch.age_at_arrival_days:
        yield (
            f"{path}.leave_age_days",
            Phrase(N_("must be above the age at arrival: the birds would never be here")),
        )
    yield from _backward(f"{path}.leaves", max(arrival.days()), batch.leaves)
    leave = leave_day(batch, min(arrival.days()))
    for part in [part.key for part in batch.parts] or [""]:
        been = [past.end for past in batch.history if past.part in ("", part)]
        if min(arrival.days()) < start and max(been, default=date.min) < start:
            text = N_("must reach %(start)s: the birds came before and are somewhere")
            yield f"{path}.history", Phrase(text, {"start": start})
        if leave is not None and leave <= max([start, *been]):
            text = N_("%(name)s leave on %(leave)s, before there is anything to plan: give a later day")
            yield path, Phrase(text, {"name": batch.name, "leave": leave})
    if batch.history and len(arrival.days()) > 1:
        yield f"{path}.arrival", Phrase(N_("must be one day: the birds are here already"))


def _gaps(path: str, batch: Batch) -> Iterator[Trouble]:
    """Yield the first age of the batch's life that no stage covers."""
    reached = batch.age_at_arrival_days
    for stage in sorted(batch.stages, key=lambda stage: stage.from_age):
        if stage.to_age is not None and stage.to_age <= stage.from_age:
            yield path, Phrase(N_("a stage ends at %(to)d days, not after its start"), {"to": stage.to_age})
        if stage.from_age > reached:
            break
        if stage.to_age is None:
            return
        reached = max(reached, stage.to_age)
    if batch.leave_age_days is None or reached < batch.leave_age_days:
        text = N_("no kind of housing is named for birds of %(age)d days: extend a stage")
        yield path, Phrase(text, {"age": reached})


def _references(problem: Problem, housings: frozenset[str]) -> Iterator[Trouble]:
    parts = {batch.key: {part.key for part in batch.parts} for batch in problem.batches}
    for place, pin in enumerate(problem.pins):
        path = f"pins[{place}]"
        yield from _backward(f"{path}.end", pin.start, pin.end)
        if pin.housing not in housings:
            yield f"{path}.housing", _unknown(pin.housing)
        if pin.batch not in parts:
            yield f"{path}.batch", _unknown(pin.batch)
        elif pin.part and pin.part not in parts[pin.batch]:
            yield f"{path}.part", _unknown(pin.part)
    for place, left in enumerate(problem.left):
        if left.housing not in housings:
            yield f"left[{place}].housing", _unknown(left.housing)


def _unknown(key: str) -> Phrase:
    return Phrase(N_("names %(key)s, which is not there"), {"key": key})
