"""Who could do what: the hard rules turned into a list of persons for every job, before anybody is chosen."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from farm.planning.rota.records import Key, RotaJob, RotaPerson, RotaProblem

#: Where heat equipment and those who may watch a child at it are together; a job without a room is a place of its own.
Place = tuple[date, str, str] | Key


@dataclass(frozen=True)
class Choices:
    """What the hard rules leave open.

    people: by key; jobs: by day, then key. may: who can be on a job in some rota that breaks no rule and fills all it
    can, by key of the person; where pins take every seat, they alone. pinned: pins that hold, part of `may`. fillable:
    seats that can be filled; all of all jobs can be at once, for nobody is ever too busy and one adult is enough for a
    place. dropped: jobs with a pin that can't hold.
    """

    people: tuple[RotaPerson, ...]
    jobs: tuple[RotaJob, ...]
    may: Mapping[Key, tuple[str, ...]]
    pinned: Mapping[Key, tuple[str, ...]]
    fillable: Mapping[Key, int]
    dropped: tuple[Key, ...]


def choices(problem: RotaProblem) -> Choices:
    """Return what the hard rules leave open; the order of people and jobs changes nothing.

    Raises ValueError for two people, or two jobs, of one key.
    """
    people = tuple(sorted(problem.people, key=lambda person: person.key))
    jobs = tuple(sorted(problem.jobs, key=lambda job: (job.day, job.key)))
    by_key = {person.key: person for person in people}
    if len(by_key) < len(people) or len({job.key for job in jobs}) < len(jobs):
        raise ValueError("two people, or two jobs, have the same key")
    allowed = {job.key: [person for person in people if allows(job, person)] for job in jobs}
    pinned = {job.key: _able_pins(job, problem.pins.get(job.key, ()), by_key) for job in jobs}
    rooms: dict[Place, list[RotaJob]] = defaultdict(list)
    for job in jobs:
        rooms[place(job)].append(job)
    may: dict[Key, tuple[str, ...]] = {}
    for together in rooms.values():
        watchers = list[RotaJob]()
        if any(job.heated for job in together):
            _unpin_lonely(together, allowed, pinned)
            watchers = [job for job in together if _takes_adult(job, allowed, pinned)]
        for job in together:
            may[job.key] = _may(job, watchers, allowed, pinned)
        if len(watchers) == 1 and _needs_watching(together, by_key, may, pinned):
            may[watchers[0].key] = _last_seat(watchers[0], by_key, may, pinned)
    return Choices(
        people=people,
        jobs=jobs,
        may={job.key: may[job.key] for job in jobs},
        pinned={key: tuple(person.key for person in kept) for key, kept in pinned.items() if kept},
        fillable={job.key: min(job.people, len(may[job.key])) for job in jobs},
        dropped=tuple(
            job.key for job in jobs if len(set(problem.pins.get(job.key, ()))) > len(pinned[job.key])
        ),
    )


def place(job: RotaJob) -> Place:
    """Return where an adult must be for a child to do this job with heat on."""
    return job.key if job.room is None else (job.day, job.round, job.room)


def able(job: RotaJob, person: RotaPerson) -> bool:
    """Say whether somebody may ever do a job, whatever the day (rule 1)."""
    return job.needs <= person.abilities and (
        person.adult if job.who == "adult" else not person.child if job.who == "helper" else True
    )


def there(job: RotaJob, person: RotaPerson) -> bool:
    """Say whether somebody is there on the day and in the round of a job (rule 2)."""
    return (job.day.weekday(), job.round) in person.rounds and not away(person, job.day)


def away(person: RotaPerson, day: date) -> bool:
    """Say whether somebody is away on a day."""
    return any(start <= day < end for start, end in person.away)


def allows(job: RotaJob, person: RotaPerson) -> bool:
    """Say whether the rules that look at one person and one job allow it (rules 1 to 3)."""
    return able(job, person) and there(job, person) and job.job not in person.refuses


def _able_pins(job: RotaJob, pins: Iterable[str], by_key: Mapping[str, RotaPerson]) -> list[RotaPerson]:
    """Return the pinned people who are able to, the first ones where they are more than the job takes."""
    people = [by_key[key] for key in dict.fromkeys(pins) if key in by_key]
    return [person for person in people if able(job, person)][: job.people]


def _unpin_lonely(
    together: Iterable[RotaJob],
    allowed: Mapping[Key, list[RotaPerson]],
    pinned: Mapping[Key, list[RotaPerson]],
) -> None:
    """Drop pins of children at heat, one after the other, until an adult can be in their place."""
    together = tuple(together)
    for job in together:
        for person in tuple(pinned[job.key]):
            if any(_takes_adult(each, allowed, pinned) for each in together):
                return
            if job.heated and person.child:
                pinned[job.key].remove(person)


def _takes_adult(
    job: RotaJob,
    allowed: Mapping[Key, list[RotaPerson]],
    pinned: Mapping[Key, list[RotaPerson]],
    but: int = 0,
) -> bool:
    """Say whether an adult is or could be on a job of which `but` free seats are taken."""
    if any(person.adult for person in pinned[job.key]):
        return True
    free = job.people - len(pinned[job.key]) - but
    return free > 0 and any(person.adult for person in allowed[job.key] if person not in pinned[job.key])


def _may(
    job: RotaJob,
    watchers: Iterable[RotaJob],
    allowed: Mapping[Key, list[RotaPerson]],
    pinned: Mapping[Key, list[RotaPerson]],
) -> tuple[str, ...]:
    fixed = pinned[job.key]
    if len(fixed) >= job.people:
        return tuple(sorted(person.key for person in fixed))
    watched = not job.heated or any(
        other is not job or _takes_adult(job, allowed, pinned, but=1) for other in watchers
    )
    free = (person for person in allowed[job.key] if watched or not person.child)
    return tuple(sorted({person.key for person in (*fixed, *free)}))


def _needs_watching(
    together: Iterable[RotaJob],
    people: Mapping[str, RotaPerson],
    may: Mapping[Key, tuple[str, ...]],
    pinned: Mapping[Key, list[RotaPerson]],
) -> bool:
    """Say whether a child will be at heat whatever is chosen: pinned there, or else a seat would be empty."""
    return any(
        job.heated
        and (
            any(person.child for person in pinned[job.key])
            or sum(not people[key].child for key in may[job.key]) < min(job.people, len(may[job.key]))
        )
        for job in together
    )


def _last_seat(
    job: RotaJob,
    people: Mapping[str, RotaPerson],
    may: Mapping[Key, tuple[str, ...]],
    pinned: Mapping[Key, list[RotaPerson]],
) -> tuple[str, ...]:
    """Return who can have the only job on which an adult can watch: of its last free seat, adults alone."""
    fixed = pinned[job.key]
    if len(fixed) != job.people - 1 or any(person.adult for person in fixed):
        return may[job.key]
    return tuple(key for key in may[job.key] if people[key].adult or people[key] in fixed)
