"""Who has how much over the rolling window, and what keeps somebody from their part."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from farm.phrase import N_, Phrase, Value
from farm.planning.rota.choices import Choices, able, allows, away, choices, there
from farm.planning.rota.fair import Fair, fair
from farm.planning.rota.records import Assigned, Load, RotaJob, RotaPerson, RotaProblem


def loads(problem: RotaProblem, assigned: Assigned) -> tuple[Load, ...]:
    """Return everybody's load, in the problem's order of people. ValueError as in `choices`.

    reachable: minutes done and of all jobs they can have, however many others can have them too.
    """
    open_ = choices(problem)
    parts = fair(problem, open_)
    usual = _usual(parts)
    given: Counter[str] = Counter()
    reachable: Counter[str] = Counter()
    for job in open_.jobs:
        given.update(dict.fromkeys(set(assigned.get(job.key, ())), job.minutes))
        reachable.update(dict.fromkeys(open_.may[job.key], job.minutes))
    return tuple(
        Load(
            person=person.key,
            target=parts.targets[person.key],
            done=person.done,
            assigned=given[person.key],
            reachable=person.done + reachable[person.key],
            why=_why(person, open_, parts, usual),
        )
        for person in problem.people
    )


def _usual(parts: Fair) -> Fraction:
    """Return the minutes for a unit of weight that most, by weight, are to have."""
    heavy: Counter[Fraction] = Counter()
    for key, level in parts.level.items():
        if level is not None:
            heavy[level] += parts.weight[key]
    return max(heavy, key=lambda level: (heavy[level], level), default=Fraction(0))


def _why(person: RotaPerson, open_: Choices, parts: Fair, usual: Fraction) -> Phrase | None:
    """Return what keeps somebody from the part most have."""
    level, target = parts.level[person.key], parts.targets[person.key]
    if level is None:
        if round(target) <= person.done:
            return None
        text = N_("%(person)s has no part in the work, but %(minutes)d min of it can't be given to others.")
        return Phrase(text, {"person": person.name, "minutes": round(target) - person.done})
    part = float(usual * parts.weight[person.key])
    if round(part) == round(target):
        return None
    values: dict[str, Value] = {"person": person.name, "part": round(part), "minutes": round(target)}
    if target > part and person.done >= round(target):
        return Phrase(
            N_("%(person)s has done %(done)d min already, a fair part would be %(part)d min."),
            {**values, "done": person.done},
        )
    if target > part:
        return Phrase(
            N_(
                "%(person)s gets %(minutes)d min, a fair part would be %(part)d min: "
                "too much of the work can't be given to others."
            ),
            values,
        )
    return Phrase(_LESS[_cause(person, open_)], values)


def _cause(person: RotaPerson, open_: Choices) -> str:
    """Return which rule keeps the most minutes from somebody."""
    lost: Counter[str] = Counter({"others": 0})
    for job in open_.jobs:
        if person.key not in open_.may[job.key]:
            lost[_rule(job, person)] += job.minutes
    return max(sorted(lost), key=lambda rule: lost[rule])


def _rule(job: RotaJob, person: RotaPerson) -> str:
    if not able(job, person):
        return "able"
    if not there(job, person):
        return "away" if away(person, job.day) else "there"
    if not allows(job, person):
        return "refused"
    return "heat" if job.heated and person.child else "others"


_LESS = {
    "able": N_(
        "%(person)s can be given %(minutes)d min, a fair part would be %(part)d min: they may not do the other chores."
    ),
    "there": N_(
        "%(person)s can be given %(minutes)d min, a fair part would be %(part)d min: "
        "they aren't there for more of the rounds."
    ),
    "away": N_("%(person)s can be given %(minutes)d min, a fair part would be %(part)d min: they are away."),
    "refused": N_(
        "%(person)s can be given %(minutes)d min, a fair part would be %(part)d min: "
        "the others are chores they are never to have."
    ),
    "heat": N_(
        "%(person)s can be given %(minutes)d min, a fair part would be %(part)d min: "
        "no adult is near where heat is on."
    ),
    "others": N_(
        "%(person)s can be given %(minutes)d min, a fair part would be %(part)d min: "
        "the other chores are fixed to somebody else."
    ),
}
