"""Fair parts against their characterisation by S. Fujishige.

"Lexicographically optimal base of a polymatroid with respect to a weight vector", Mathematics of Operations Research 5
(1980): what can be given to people, were chores split at will, is a base of a polymatroid, and the base most even by
weight is the only one with the least sum of load² / weight. So parts are right exactly where they can be had, and no
other loads are better at the prices part / weight; both are linear programs for scipy.
"""

from datetime import date, timedelta
from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog

from farm.phrase import Phrase
from farm.planning.rota import RotaJob, RotaPerson, RotaProblem, targets

DAY = date(2031, 1, 6)
DAYS = 9
ABILITIES = ("heat", "lifting", "water")


def farm(seed):
    """People with other abilities, shares, days and work behind them, and chores for one or two; nothing is heated."""
    random = Random(seed)
    people = tuple(
        RotaPerson(
            f"person-{at}", f"Person {at}", at == 0, False,
            frozenset(each for each in ABILITIES if at == 0 or random.random() < 0.5),
            frozenset((day, "morning") for day in range(7) if at == 0 or random.random() < 0.7),
            ((DAY + timedelta(2), DAY + timedelta(random.randrange(3, 7))),) if at and random.random() < 0.4 else (),
            share=random.choice((0.25, 0.5, 1.0, 1.5)),
            refuses=frozenset({"job-1"} if random.random() < 0.2 else ()),
            done=random.randrange(0, 200), present_before=random.randrange(15),
        )
        for at in range(random.randrange(2, 6))
    )  # fmt: skip
    jobs = tuple(
        RotaJob(
            (f"source-{at}", day, "morning"), day, "morning", "yard", None, f"job-{at}", Phrase("chore"),
            random.randrange(5, 40), "helper", frozenset(random.sample(ABILITIES, random.randrange(2))),
            people=1 + (random.random() < 0.2),
        )
        for day in (DAY + timedelta(each) for each in range(DAYS))
        for at in range(4)
    )  # fmt: skip
    return RotaProblem(people, jobs, seed=seed)


def away(person, day):
    return any(start <= day < end for start, end in person.away)


def weight(person):
    """Share times the days they were and are there."""
    present = [
        day
        for day in (DAY + timedelta(each) for each in range(DAYS))
        if (day.weekday(), "morning") in person.rounds and not away(person, day)
    ]
    return person.share * (person.present_before + len(present))


class Loads:
    """All loads there can be: a variable for each part of a job with a person, one for each person's load."""

    def __init__(self, problem):
        self.people, parts, rows, sums = problem.people, 0, [], []
        given = [[] for _ in problem.people]
        for job in problem.jobs:
            able = [at for at, each in enumerate(problem.people) if self.may(each, job)]
            if able:
                rows.append(range(parts, parts + len(able)))
                sums.append(min(job.people, len(able)))
                for column, at in enumerate(able, parts):
                    given[at].append((column, job.minutes))
                parts += len(able)
        self.parts = parts
        self.matrix = np.zeros((len(rows) + len(self.people), parts + len(self.people)))
        for at, columns in enumerate(rows):
            self.matrix[at, list(columns)] = 1
        for at, of_person in enumerate(given):
            self.matrix[len(rows) + at, parts + at] = 1
            for column, minutes in of_person:
                self.matrix[len(rows) + at, column] = -minutes
        self.equals = [*sums, *(each.done for each in self.people)]

    @staticmethod
    def may(person, job):
        there = (job.day.weekday(), "morning") in person.rounds and not away(person, job.day)
        return there and job.needs <= person.abilities and job.job not in person.refuses

    def least(self, prices, loads=None):
        """The least sum of price times load, with the loads given or free; None where they can't be had."""
        bounds = [(0, 1)] * self.parts + [(None, None)] * len(self.people)
        if loads is not None:
            bounds[self.parts :] = [(load - 1e-6, load + 1e-6) for load in loads]
        found = linprog([0.0] * self.parts + list(prices), A_eq=self.matrix, b_eq=self.equals, bounds=bounds)
        return found.fun if found.success else None


@pytest.mark.parametrize("seed", range(40))
def test_fair_parts_can_be_had_and_none_are_more_even(seed):
    problem = farm(seed)
    parts, loads = targets(problem), Loads(problem)
    wanted = [parts[each.key] for each in problem.people]
    prices = [part / weight(each) for part, each in zip(wanted, problem.people, strict=True)]
    assert loads.least([0.0] * len(prices), wanted) is not None
    least = sum(price * part for price, part in zip(prices, wanted, strict=True))
    assert loads.least(prices) == pytest.approx(least, rel=1e-6)


def test_the_judge_refuses_parts_that_are_not_the_most_even():
    problem = farm(1)
    loads = Loads(problem)
    # The least anybody can leave the first person with can be had, but is less even.
    wanted = [1.0 if at == 0 else 0.0 for at in range(len(problem.people))]
    assert loads.least(wanted) < targets(problem)["person-0"] - 1


def test_parts_nobody_can_be_given_are_refused():
    problem = farm(1)
    parts, loads = targets(problem), Loads(problem)
    wanted = [parts[each.key] for each in problem.people]
    assert loads.least([0.0] * len(wanted), [wanted[0] + 1, *wanted[1:]]) is None
