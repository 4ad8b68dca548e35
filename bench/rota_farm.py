"""An invented farm whose chores need a rota, and the plain rule a family would use: whose turn is it?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, timedelta
from random import Random

from farm.phrase import Phrase
from farm.planning.rota.records import Assigned, Key, RotaJob, RotaPerson, RotaProblem

FIRST = date(2031, 1, 6)
ROUNDS = ("morning", "midday", "evening")
#: Chores a day of each (round, group); made up. They sum to 30.
CHORES = {
    ("morning", "yard"): 4, ("morning", "brooders"): 4, ("morning", "orchard"): 3, ("morning", "pond"): 2,
    ("midday", "brooders"): 3, ("midday", "yard"): 2,
    ("evening", "yard"): 4, ("evening", "brooders"): 3, ("evening", "orchard"): 3, ("evening", "pond"): 2,
}  # fmt: skip
#: Who may do how many of ten chores, made up: the more a chore asks for, the rarer it is.
WHO = ("child",) * 5 + ("helper",) * 4 + ("adult",)
#: Key, abilities, share, made up. A name beginning with a, h or c: adult, helper or child.
PEOPLE = (
    ("ada", "heat lifting water dosing slaughter", 1.0), ("abel", "heat lifting water dosing", 1.0),
    ("agnes", "heat water dosing", 0.5), ("hal", "heat lifting water", 1.0), ("hedda", "heat water", 1.0),
    ("hugo", "water lifting heat", 0.75), ("cleo", "water", 0.5), ("carl", "water", 0.25),
)  # fmt: skip


def farm(seed: int = 1, people: int = len(PEOPLE), days: int = 28) -> RotaProblem:
    """Return the problem of some of the people over so many days: the same for the same seed."""
    random = Random(seed)
    kinds = {cell: [_kind(random, cell[1]) for _ in range(count)] for cell, count in CHORES.items()}
    jobs = [
        _job(FIRST + timedelta(days=day), round, group, at, *kind)
        for day in range(days)
        for (round, group), of_cell in kinds.items()
        for at, kind in enumerate(of_cell)
    ]
    return RotaProblem(
        tuple(_person(random, *each, days) for each in PEOPLE[:people]), tuple(jobs), seed=seed
    )


def in_turn(problem: RotaProblem) -> Assigned:
    """Return the rota of a plain rule: each seat goes to the next in turn who may sit on it."""
    taken: dict[Key, tuple[str, ...]] = {}
    adults: dict[tuple[date, str, str | None], int] = defaultdict(int)
    queue = list(problem.people)
    for job in sorted(problem.jobs, key=lambda job: (job.day, ROUNDS.index(job.round), job.group, job.key)):
        where = job.day, job.round, job.room
        for _ in range(job.people):
            fit = (each for each in queue if each.key not in taken.get(job.key, ()) and may(each, job))
            found = next(
                (each for each in fit if not (each.child and job.heated and not adults[where])), None
            )
            if found is None:
                continue
            taken[job.key] = (*taken.get(job.key, ()), found.key)
            adults[where] += found.adult
            queue.remove(found)
            queue.append(found)
    return taken


def may(person: RotaPerson, job: RotaJob) -> bool:
    """Return whether a job is within what a person may do, is there for and does not refuse."""
    ranked = person.adult if job.who == "adult" else job.who == "child" or not person.child
    there = (job.day.weekday(), job.round) in person.rounds
    away = any(start <= job.day < end for start, end in person.away)
    return ranked and job.needs <= person.abilities and there and not away and job.job not in person.refuses


def _kind(random: Random, group: str) -> tuple[str, int, frozenset[str], bool]:
    """Return who may do a chore, its minutes, what it needs, and whether there is heat."""
    heated = group == "brooders" and random.random() < 0.5
    needs = ["heat"] if heated and random.random() < 0.5 else random.choice(([], [], ["water"], ["lifting"]))
    return random.choice(WHO), random.randrange(4, 21), frozenset(needs), heated


def _job(
    day: date, round: str, group: str, at: int, who: str, minutes: int, needs: Iterable[str], heated: bool
) -> RotaJob:
    source = f"{group}-{round}-{at}"
    return RotaJob(
        (source, day, round), day, round, group, f"{group}-{at % 2}", f"job-{at}", Phrase(source), minutes, who,
        frozenset(needs), people=2 if at == 3 else 1, heated=heated,
    )  # fmt: skip


def _person(random: Random, key: str, abilities: str, share: float, days: int) -> RotaPerson:
    child, adult = key.startswith("c"), key.startswith("a")
    rounds = {(weekday, round) for weekday in range(7) for round in ROUNDS}
    if not adult:  # at school or at work
        rounds -= {(weekday, "midday") for weekday in range(5)}
    if child:
        rounds -= {(weekday, "morning") for weekday in range(5)}
    leaves = FIRST + timedelta(days=random.randrange(days))
    away = ((leaves, leaves + timedelta(days=random.randrange(2, 6))),) if random.random() < 0.5 else ()
    return RotaPerson(
        key, key.title(), adult, child, frozenset(abilities.split()), frozenset(rounds), away, share=share,
        max_week_minutes=240 if child else None, prefers=frozenset(random.sample(["job-0", "job-1", "job-2"], 1)),
    )  # fmt: skip
