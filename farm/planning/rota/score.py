"""What a rota costs, wish by wish, counted anew from the rota alone: this module knows no solver.

Each wish is one function, and its docstring is exactly what it counts. Only the jobs of the problem count; persons of
a job are a set, whatever their order. Seats are not bargained about: a rota leaves none empty that could be filled
(`choices.fillable`), however much that would save elsewhere.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from datetime import date, timedelta
from itertools import pairwise

from farm.planning.rota.choices import Choices, choices
from farm.planning.rota.fair import fair
from farm.planning.rota.records import Assigned, Bill, Key, RotaJob, RotaProblem, Weights

#: Who does a job, by its key: every job of the problem, the empty set where nobody does.
Sets = Mapping[Key, frozenset[str]]
Cell = tuple[date, str, str]


def score(problem: RotaProblem, assigned: Assigned) -> Bill:
    """Return the bill of a rota. ValueError as in `choices`; KeyError for somebody the problem doesn't have."""
    open_ = choices(problem)
    return bill(problem, open_, fair(problem, open_).targets, assigned)


def bill(problem: RotaProblem, open_: Choices, targets: Mapping[str, float], assigned: Assigned) -> Bill:
    """Return the bill of a rota whose choices and targets are known."""
    sets = {job.key: frozenset(assigned.get(job.key, ())) for job in open_.jobs}
    return priced(
        problem.weights,
        unfilled(open_.jobs, sets),
        deviation(problem, sets, targets),
        over(problem, sets),
        blocks(problem, sets),
        changes(problem, sets),
        unliked(problem, open_, sets),
        touched(problem, sets),
    )


def priced(
    weights: Weights,
    unfilled: int,
    deviation: float,
    over: int,
    blocks: int,
    changes: int,
    unliked: int,
    touched: int,
) -> Bill:
    """Return the bill of these counts: cost is the sum of each times its weight."""
    cost = (
        weights.unfilled * unfilled
        + weights.deviation * deviation
        + weights.over * over
        + weights.block * blocks
        + weights.change * changes
        + weights.unliked * unliked
        + weights.touched * touched
    )
    return Bill(unfilled, deviation, over, blocks, changes, unliked, touched, cost)


def unfilled(jobs: tuple[RotaJob, ...], sets: Sets) -> int:
    """Count the seats nobody sits on: for each job the hands it needs less those it has, no less than 0."""
    return sum(max(0, job.people - len(sets[job.key])) for job in jobs)


def deviation(problem: RotaProblem, sets: Sets, targets: Mapping[str, float]) -> float:
    """Return the most minutes anybody is away from their target: max over people of |done + given - target|.

    Given are the whole minutes of each of their jobs; two at one job get its minutes each. 0 without people.
    """
    minutes = Counter({person.key: person.done for person in problem.people})
    for job in problem.jobs:
        for person in sets[job.key]:
            minutes[person] += job.minutes
    return max((abs(minutes[key] - target) for key, target in targets.items()), default=0.0)


def over(problem: RotaProblem, sets: Sets) -> int:
    """Count the minutes above what somebody wants at most in a week, summed over people and weeks.

    A week is seven days from a `first_weekday` on. Only minutes of the problem's jobs count; so a week that began
    before the first of them has the whole wish for the rest of it.
    """
    most = {person.key: person.max_week_minutes for person in problem.people}
    minutes: Counter[tuple[str, date]] = Counter()
    for job in problem.jobs:
        week = week_of(job.day, problem.first_weekday)
        for person in sets[job.key]:
            minutes[person, week] += job.minutes
    found = 0
    for (person, _), given in minutes.items():
        wish = most[person]
        found += max(0, given - wish) if wish is not None else 0
    return found


def week_of(day: date, first_weekday: int) -> date:
    """Return the first day of the week of a day. first_weekday: Monday 0."""
    return day - timedelta(days=(day.weekday() - first_weekday) % 7)


def blocks(problem: RotaProblem, sets: Sets) -> int:
    """Count the people beyond the first in every cell (day, round, group): those with any job of it, a cell each,
    less the cells in which anybody has one."""
    cells = by_cell(problem, sets)
    return sum(len(people) - 1 for people in cells.values() if people)


def by_cell(problem: RotaProblem, sets: Sets) -> Mapping[Cell, set[str]]:
    """Return who has any job of each cell."""
    found: dict[Cell, set[str]] = defaultdict(set)
    for job in problem.jobs:
        found[job.cell] |= sets[job.key]
    return found


def changes(problem: RotaProblem, sets: Sets) -> int:
    """Count the occurrences of a chore done by others than the time before.

    Jobs of one source (`key[0]`) and one round (`RotaJob.round`) are put in order of day, then key; each but the
    first whose set of people is not exactly that of the one before counts once. Two people are a set: one of two
    exchanged is one change. An occurrence with nobody has the empty set and counts like any other.
    """
    rows: dict[tuple[str, str], list[RotaJob]] = defaultdict(list)
    for job in sorted(problem.jobs, key=lambda job: (job.day, job.key)):
        rows[job.key[0], job.round].append(job)
    return sum(
        sets[before.key] != sets[after.key] for row in rows.values() for before, after in pairwise(row)
    )


def unliked(problem: RotaProblem, open_: Choices, sets: Sets) -> int:
    """Count the jobs that somebody who could have them (`Choices.may`) prefers and nobody who prefers them has.

    Whoever prefers a chore counts as such even where they have it only by a pin; a job nobody does counts too.
    """
    fond = {person.key: person.prefers for person in problem.people}
    return sum(
        any(job.job in fond[key] for key in open_.may[job.key])
        and not any(job.job in fond[key] for key in sets[job.key])
        for job in problem.jobs
    )


def touched(problem: RotaProblem, sets: Sets) -> int:
    """Count the cells with exactly other people than in the rota in force.

    A cell's people before are those of `previous` on any of its present jobs, also people the problem doesn't have
    any more; a cell with nobody before doesn't count. Who does which chore within a cell is all one.
    """
    before: dict[Cell, set[str]] = defaultdict(set)
    for job in problem.jobs:
        before[job.cell].update(problem.previous.get(job.key, ()))
    now = by_cell(problem, sets)
    return sum(bool(people) and people != now[cell] for cell, people in before.items())
