"""The best plan there is, proved, for farms small enough: the whole problem as one model."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from farm.planning import chains, score, validate
from farm.planning.draft import Atlas, Sizes
from farm.planning.exact import capacity, sharing
from farm.planning.exact.model import SAFETY, Model, Outcome, Watch
from farm.planning.exact.tracks import Track, tracks
from farm.planning.ground import Ground
from farm.planning.insert import NOWHERE
from farm.planning.problem import Problem
from farm.planning.solution import BatchPlan, PlanPart, Solution


@dataclass(frozen=True)
class Proof:
    """What was proved.

    status: "proved": `solution` is the best plan; "open": time ran out, but no plan costs less than `bound`; "silent":
    nothing was learned. The proof is over plans that move on the move points `lanes` cuts (welcome weekdays, and days
    on which something changes) with every batch in as many parts as in `warm`, else as few as may be; whole: no batch
    could have been split otherwise.
    """

    status: Literal["proved", "open", "silent"]
    bound: int
    solution: Solution | None
    whole: bool


@dataclass(frozen=True)
class Proving:
    """How far a proof is after so many seconds of work. cost: of the best plan so far, None while there is none."""

    seconds: float
    bound: int
    cost: int | None


Report = Callable[[Proving], bool]


def prove(
    problem: Problem, warm: Solution | None = None, seconds: float = 60.0, report: Report | None = None
) -> Proof:
    """Return the best plan, or how good a plan may be, after at most about so many seconds.

    warm: a plan to start from; the answer is never worse. report: called now and then, seconds apart on a large farm;
    returning False ends the proof with what is known by then. Raises codec.ReadingError for a problem that cannot be
    planned.
    """
    validate.refuse(problem)
    if warm is not None and warm.problem != problem.digest:
        raise ValueError("the plan to start from is for another problem")
    atlas = Atlas(Ground(problem))
    sizes = _sizes(atlas, warm)
    model = Model()
    found = tracks(model, atlas, sizes)
    model.constant += _past(problem, atlas, found)
    capacity.limit(model, atlas, found)
    sharing.part(model, atlas, found)
    watch = None if report is None else _watch(report, warm)
    outcome = model.run(seconds, None if warm is None else _start(atlas, found, warm), watch)
    return _read(atlas, found, sizes, outcome, warm)


def _watch(report: Report, warm: Solution | None) -> Watch:
    """Return the report in the model's terms: a bound is rounded up, and no cost is above that of the warm start."""

    def watch(seconds: float, bound: float, cost: float) -> bool:
        costs = [round(cost)] if math.isfinite(cost) else []
        best = min([*costs, *([] if warm is None else [warm.cost])], default=None)
        return report(Proving(seconds, _whole(bound), best))

    return watch


def _whole(bound: float) -> int:
    """Return a bound as the whole number costs cannot be below."""
    return max(math.ceil(bound - SAFETY), 0) if math.isfinite(bound) else 0


def _sizes(atlas: Atlas, warm: Solution | None) -> list[Sizes]:
    if warm is None:
        return list(atlas.whole)
    return [tuple(part.birds for part in warm.by_batch[batch.key].parts) for batch in atlas.ground.batches]


def _past(problem: Problem, atlas: Atlas, found: Sequence[Track]) -> int:
    """Return what stays that cannot be changed cost by themselves."""
    plans: dict[str, list[PlanPart]] = {}
    for track in found:
        stays = chains.stays(atlas.ground, track.lane, ())
        if stays:
            batch = atlas.ground.batches[track.batch]
            plans.setdefault(batch.key, []).append(
                PlanPart(atlas.key(track.batch, track.place), track.birds, stays)
            )
    days = {batch.key: batch.arrival.day for batch in atlas.ground.batches}
    bill = score.bill(problem, [BatchPlan(key, days[key], tuple(parts)) for key, parts in plans.items()])
    return sum(bill.cost(term) for term in ("moves", "off_days", "misplaced", "cold", "change"))


def _read(
    atlas: Atlas, found: Sequence[Track], sizes: list[Sizes], outcome: Outcome, warm: Solution | None
) -> Proof:
    problem = atlas.ground.problem
    whole = all(len(each) == atlas.most_parts(batch) for batch, each in enumerate(sizes))
    bound = _whole(outcome.bound)
    plans, cost = None if warm is None else warm.plans, None if warm is None else warm.cost
    if outcome.values is not None:
        made = _plans(atlas, found, outcome.values)
        counted = score.bill(problem, made).total
        if outcome.optimal and counted != round(outcome.cost):
            raise AssertionError(f"the plan costs {counted}, but was proved to cost {outcome.cost}")
        if cost is None or counted < cost:
            plans, cost = made, counted
    if plans is None or cost is None:
        return Proof("open" if bound > 0 else "silent", bound, None, whole)
    bound = min(bound, cost)
    best = Solution(problem.digest, plans, cost, bound)
    return Proof("proved" if bound == cost else "open", bound, best, whole)


def _plans(atlas: Atlas, found: Sequence[Track], values: npt.NDArray[np.float64]) -> tuple[BatchPlan, ...]:
    ground, parts, arrivals = atlas.ground, dict[str, list[PlanPart]](), dict[str, int]()
    for track in found:
        if values[track.chosen] < 0.5:
            continue
        rows, bounds = [*track.lane.rows.tolist(), NOWHERE], track.lane.bounds.tolist()
        legs = sorted(
            (stretch, local) for (local, stretch), column in track.at.items() if values[column] > 0.5
        )
        way = [(rows[local], bounds[at], bounds[at + 1]) for at, local in legs]
        stays = chains.stays(ground, track.lane, way)
        batch = ground.batches[track.batch]
        parts.setdefault(batch.key, []).append(
            PlanPart(atlas.key(track.batch, track.place), track.birds, stays)
        )
        arrivals[batch.key] = track.lane.arrival
    return tuple(BatchPlan(key, ground.days.day(arrivals[key]), tuple(own)) for key, own in parts.items())


def _start(atlas: Atlas, found: Sequence[Track], warm: Solution) -> Mapping[int, float]:
    """Return the choices a plan stands for, as far as its stays keep to the move points."""
    index, chosen = atlas.ground.days.index, dict[int, float]()
    for track in found:
        plan = warm.by_batch[atlas.ground.batches[track.batch].key]
        taken = index(plan.arrival) == track.lane.arrival
        chosen[track.chosen] = float(taken)
        chosen |= dict.fromkeys(track.at.values(), 0.0)
        if not taken:
            continue
        rows, bounds = [*track.lane.rows.tolist(), NOWHERE], track.lane.bounds.tolist()
        for stay in plan.parts[track.place].stays:
            row = NOWHERE if stay.housing is None else atlas.ground.row[stay.housing]
            for stretch, day in enumerate(bounds[:-1]):
                if row in rows and index(stay.start) <= day < index(stay.end):
                    column = track.at.get((rows.index(row), stretch))
                    if column is not None:
                        chosen[column] = 1.0
    return chosen
