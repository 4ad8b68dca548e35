"""Why a seat stays empty, and what would fill it."""

from __future__ import annotations

from collections.abc import Sequence

from farm.phrase import N_, Phrase, Value
from farm.planning.rota.choices import able, away, choices, there
from farm.planning.rota.records import Assigned, RotaJob, RotaPerson, RotaProblem, Unfilled

#: Ways to fill a seat that are told: project default (judgement).
MOST_WAYS = 4
#: What stands in somebody's way, what is the least to change first.
OBSTACLES = ("free", "heat", "refused", "round", "away", "learn")


def unfilled(problem: RotaProblem, assigned: Assigned) -> tuple[Unfilled, ...]:
    """Return every job with too few people, by day; what is the least to change first. ValueError as in `choices`."""
    open_ = choices(problem)
    found = []
    for job in open_.jobs:
        given = set(assigned.get(job.key, ()))
        if len(given) < job.people:
            others = [person for person in open_.people if person.key not in given]
            found.append(_lacking(job, others, open_.may[job.key], job.people - len(given)))
    return tuple(found)


def _lacking(job: RotaJob, others: Sequence[RotaPerson], may: Sequence[str], missing: int) -> Unfilled:
    ways = sorted(
        (OBSTACLES.index(obstacles[0]), person.name, obstacles[0])
        for person in others
        if len(obstacles := _obstacles(job, person, may)) == 1 and obstacles[0] in OBSTACLES
    )
    told = tuple(_way(job, name, obstacle) for _, name, obstacle in ways[:MOST_WAYS])
    if not told:
        told = (_from_outside(job),)
    return Unfilled(job.key, missing, _reason(job, others, may), told)


def _obstacles(job: RotaJob, person: RotaPerson, may: Sequence[str]) -> list[str]:
    """Return everything that keeps somebody from a job; what can't be changed is "never"."""
    if person.key in may:
        return ["free"]
    found = [] if able(job, person) else ["learn" if _old_enough(job, person) else "never"]
    if away(person, job.day):
        found.append("away")
    if (job.day.weekday(), job.round) not in person.rounds:
        found.append("round")
    if job.job in person.refuses:
        found.append("refused")
    return found or ["heat" if job.heated and person.child else "never"]


def _old_enough(job: RotaJob, person: RotaPerson) -> bool:
    return person.adult if job.who == "adult" else not person.child if job.who == "helper" else True


def _reason(job: RotaJob, others: Sequence[RotaPerson], may: Sequence[str]) -> Phrase:
    """Return the first thing that stands in the way of everybody."""
    if any(person.key in may for person in others):
        return Phrase(N_("Nobody has been given it."))
    if not may:
        return _obstacle_of_all(job, others)
    text = N_("A second pair of hands is missing. Apart from the first: %(reason)s")
    return Phrase(text, {"reason": _obstacle_of_all(job, others)})


def _obstacle_of_all(job: RotaJob, others: Sequence[RotaPerson]) -> Phrase:
    fit = [person for person in others if _old_enough(job, person)]
    if not fit:
        texts = {"adult": N_("Nobody here is an adult."), "helper": N_("Nobody here is old enough.")}
        return Phrase(texts.get(job.who, N_("Nobody is here.")))
    for ability in sorted(job.needs):
        if not any(ability in person.abilities for person in fit):
            return Phrase(_LACKS.get(ability, N_("Nobody here may do it.")))
    fit = [person for person in fit if able(job, person)]
    if not fit:
        return Phrase(N_("Nobody here may do all it takes."))
    when: dict[str, Value] = {"day": job.day, "round": _round(job)}
    fit = [person for person in fit if there(job, person)]
    if not fit:
        return Phrase(N_("Nobody who may do it is there on %(day)s %(round)s."), when)
    if all(job.job in person.refuses for person in fit):
        return Phrase(
            N_("Whoever may do it and is there on %(day)s %(round)s is never to have this chore."), when
        )
    return Phrase(N_("Heat is on, and no adult is near on %(day)s %(round)s."), when)


def _way(job: RotaJob, name: str, obstacle: str) -> Phrase:
    values: dict[str, Value] = {"person": name, "day": job.day, "round": _round(job)}
    if obstacle == "learn":
        skill = next(iter(sorted(job.needs)), "")
        return Phrase(
            _LEARN.get(skill, N_("%(person)s could, once they may."))
            if len(job.needs) == 1
            else N_("%(person)s could, once they may do all it takes."),
            values,
        )
    return Phrase(_WAYS[obstacle], values)


def _from_outside(job: RotaJob) -> Phrase:
    text = {"adult": N_("Another adult could."), "helper": N_("Somebody else who is no child could.")}
    return Phrase(text.get(job.who, N_("Somebody else could.")))


def _round(job: RotaJob) -> Phrase:
    return Phrase(_ROUNDS.get(job.round, job.round))


_ROUNDS = {"morning": N_("in the morning"), "midday": N_("at midday"), "evening": N_("in the evening")}
_LACKS = {
    "heat": N_("Nobody here may handle heat equipment."),
    "lifting": N_("Nobody here may lift heavy things."),
    "water": N_("Nobody here may do chores at open water."),
    "dosing": N_("Nobody here may dose medicine."),
    "slaughter": N_("Nobody here may slaughter."),
}
_LEARN = {
    "heat": N_("%(person)s could, once they may handle heat equipment."),
    "lifting": N_("%(person)s could, once they may lift heavy things."),
    "water": N_("%(person)s could, once they may do chores at open water."),
    "dosing": N_("%(person)s could, once they have learned to dose medicine."),
    "slaughter": N_("%(person)s could, once they have learned to slaughter."),
}
_WAYS = {
    "free": N_("%(person)s could."),
    "heat": N_("%(person)s could, if an adult had something to do there on %(day)s %(round)s."),
    "refused": N_("%(person)s could, if this chore were not one they are never to have."),
    "round": N_("%(person)s could, if they were there on %(day)s %(round)s."),
    "away": N_("%(person)s could, if they were not away on %(day)s."),
}
