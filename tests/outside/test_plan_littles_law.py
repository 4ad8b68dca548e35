"""Little's law on a steady rhythm: batches in the brooders = rate of arrival × days each is there.

J. D. C. Little, "A proof for the queuing formula: L = λW" (Operations Research 9, 1961). The law knows nothing of
housing; a plan that loses no batch and keeps none too long must obey it exactly over whole rhythms.
"""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

import pytest

from farm.planning.problem import Arrival, Batch, Demand, Housing, Problem, Stage
from farm.planning.solve import solve

START = date(2031, 1, 4)  # a Saturday
COUNT = 12


def rhythm(every, brooding, growing=28, brooders=12):
    """A batch every so many days: `brooding` days in a brooder of its own, then in the pen."""
    batches = tuple(
        Batch(
            key=f"batch-{number:02}",
            name=f"batch {number}",
            species="chicken",
            birds=10,
            demand=Demand((100_000,), (0,), (0,), (False,)),
            stages=(Stage(frozenset({"brooder"}), 0, brooding), Stage(frozenset({"pen"}), brooding)),
            arrival=Arrival(START + timedelta(days=number * every)),
            leave_age_days=brooding + growing,
        )
        for number in range(COUNT)
    )
    housings = (
        *(
            Housing(f"brooder-{at:02}", f"brooder {at}", "brooder", 100, heated=True, one_batch=True)
            for at in range(brooders)
        ),
        Housing("pen", "pen", "pen", 100 * COUNT),
    )
    return Problem(START, COUNT * every + brooding + growing, housings, batches)


def in_brooders(solution, day):
    return sum(
        stay.housing is not None and stay.housing.startswith("brooder") and stay.start <= day < stay.end
        for plan in solution.plans
        for part in plan.parts
        for stay in part.stays
    )


def mean_in_brooders(solution, first, days):
    total = sum(in_brooders(solution, START + timedelta(days=first + at)) for at in range(days))
    return Fraction(total, days)


@pytest.mark.parametrize("every, brooding", ((7, 21), (7, 28), (14, 35), (10, 24), (21, 21), (5, 28)))
def test_batches_in_the_brooders_are_the_rate_of_arrival_times_the_stay(every, brooding):
    solution = solve(rhythm(every, brooding), iterations=20)
    # From the first leaving on, over whole rhythms while batches still arrive.
    first = -(-brooding // every) * every
    days = (COUNT - first // every) * every
    assert mean_in_brooders(solution, first, days) == Fraction(brooding, every)


@pytest.mark.parametrize("every, brooding", ((7, 21), (14, 35), (10, 24)))
def test_so_many_brooders_rounded_up_are_enough_and_one_fewer_is_not(every, brooding):
    need = -(-brooding // every)
    nowhere = [
        sum(stay.housing is None for plan in found.plans for part in plan.parts for stay in part.stays)
        for found in (
            solve(rhythm(every, brooding, brooders=count), iterations=60) for count in (need, need - 1)
        )
    ]
    assert nowhere[0] == 0 < nowhere[1]


def test_rest_days_count_as_part_of_the_stay():
    # 21 days and 7 of rest at one batch a week: four brooders, not three.
    resting = [
        replace(
            given,
            housings=tuple(
                replace(housing, rest_days=7 if housing.kind == "brooder" else 0)
                for housing in given.housings
            ),
        )
        for given in (rhythm(7, 21, brooders=4), rhythm(7, 21, brooders=3))
    ]
    lost = [
        any(
            stay.housing is None
            for plan in solve(each, iterations=60).plans
            for part in plan.parts
            for stay in part.stays
        )
        for each in resting
    ]
    assert lost == [False, True]
