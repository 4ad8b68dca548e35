"""What is a fair part of the work: everybody's target over the rolling window, done before and planned together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from farm.planning.rota.choices import Choices, away, choices
from farm.planning.rota.cut import Work, heaviest
from farm.planning.rota.records import RotaPerson, RotaProblem

#: Shares are counted in thousandths: project default (judgement).
SHARE_STEPS = 1000


@dataclass(frozen=True)
class Fair:
    """Targets in minutes, by key of the person. level: target for each unit of weight, None where the weight is 0;
    equal for all who can be treated alike. weight: share in thousandths x days present, past and planned."""

    targets: Mapping[str, float]
    level: Mapping[str, Fraction | None]
    weight: Mapping[str, int]


def targets(problem: RotaProblem) -> Mapping[str, float]:
    """Return everybody's fair minutes, by key: done before and planned now.

    A part is weighed by share times the days on which somebody was or is there, so absence lowers it: the days of
    `present_before`, and the days with any job on which they are there for some round and not away. Where every
    chore suits everybody, targets are those weights' parts of all minutes, done by anybody and planned (every seat
    that can be filled counts the job's minutes). Else they are the most even minutes for each unit of weight that
    the hard rules and what is done already allow: whoever can't be given their part gets all there is for them,
    whoever has more that only they can do has that, and the rest is shared by weight among the others. Targets sum
    up to all minutes done and planned. Minutes are taken as if they could be split, so a rota of whole chores
    comes near. Who has weight 0 gets only what nobody else can do.
    """
    return fair(problem, choices(problem)).targets


def fair(problem: RotaProblem, open_: Choices) -> Fair:
    """Return targets and how they came about, see `targets`."""
    people = open_.people
    days = {job.day for job in open_.jobs}
    weight = {
        person.key: round(person.share * SHARE_STEPS)
        * (person.present_before + sum(_present(person, day) for day in days))
        for person in people
    }
    bits = {person.key: 1 << place for place, person in enumerate(people)}
    work = _work(open_, bits)
    weights = {bits[key]: weighs for key, weighs in weight.items() if weighs > 0}
    weightless = {bit: 1 for bit in bits.values() if bit not in weights}
    none = sum(weightless)
    level = _shared_out(_forced(work, none), weightless) | _shared_out(_without(work, none), weights)
    return Fair(
        targets={key: float(level[bit] * weights.get(bit, 1)) for key, bit in bits.items()},
        level={key: level[bit] if weight[key] > 0 else None for key, bit in bits.items()},
        weight=weight,
    )


def _present(person: RotaPerson, day: date) -> bool:
    return any(weekday == day.weekday() for weekday, _ in person.rounds) and not away(person, day)


def _work(open_: Choices, bits: Mapping[str, int]) -> Work:
    """Return all minutes by who can do them; what is done and what is pinned only one person can."""
    work: Counter[tuple[int, int]] = Counter()
    for person in open_.people:
        work[bits[person.key], 1] += person.done
    for job in open_.jobs:
        pinned = open_.pinned.get(job.key, ())
        for key in pinned:
            work[bits[key], 1] += job.minutes
        free = sum(bits[key] for key in open_.may[job.key] if key not in pinned)
        if seats := open_.fillable[job.key] - len(pinned):
            work[free, seats] += job.minutes
    return {kind: work[kind] for kind in sorted(work) if work[kind]}


def _shared_out(work: Work, weights: Mapping[int, int]) -> dict[int, Fraction]:
    """Return the most even minutes for each unit of weight: those who must carry most are fixed first."""
    left, found = dict(weights), dict[int, Fraction]()
    while left:
        people, load = heaviest(work, left)
        found.update((bit, load) for bit in left if bit & people)
        left = {bit: weighs for bit, weighs in left.items() if not bit & people}
        work = _without(work, people)
    return found


def _without(work: Work, people: int) -> Work:
    """Return the work left for the others when these people do no more than they must."""
    rest: Counter[tuple[int, int]] = Counter()
    for (can, seats), minutes in work.items():
        others = can & ~people
        if others:
            rest[others, min(seats, others.bit_count())] += minutes
    return rest


def _forced(work: Work, people: int) -> Work:
    """Return the work that falls to these people alone, everybody else doing all they can."""
    rest: Counter[tuple[int, int]] = Counter()
    for (can, seats), minutes in work.items():
        left = seats - (can & ~people).bit_count()
        if left > 0:
            rest[can & people, left] += minutes
    return rest
