"""Rotas of people who are all alike, where only fairness is weighed: what is published about sharing out whole chores.

An answer is the best there is, so whatever is proved to exist bounds it; and where an author gives an instance with its
optimum, the optimum is met. The rules of thumb are written here, to see that the instances are the published ones.
"""

from datetime import date, timedelta
from itertools import combinations, product
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.phrase import Phrase
from farm.planning.exact.rota import polish
from farm.planning.rota import RotaJob, RotaPerson, RotaProblem, Weights, loads, solve

DAY = date(2031, 1, 6)
FAIR = Weights(over=0, block=0, change=0, unliked=0, touched=0)
CHORES = st.lists(st.integers(1, 60), min_size=1, max_size=9)


def person(key, share=1.0):
    """Somebody who can do everything at any time."""
    rounds = frozenset((weekday, "morning") for weekday in range(7))
    return RotaPerson(key, key, True, False, frozenset(), rounds, share=share)


def farm(minutes, people, shares=None, days=1):
    """The chores of each day, of so many minutes, for people who are alike but for their shares."""
    jobs = tuple(
        RotaJob(
            (f"chore-{at}", day, "morning"), day, "morning", "yard", None, "chore", Phrase("chore"), size, "child"
        )
        for day in (DAY + timedelta(each) for each in range(days))
        for at, size in enumerate(minutes)
    )  # fmt: skip
    each = (person(f"person-{at}", share) for at, share in enumerate(shares or [1.0] * people))
    return RotaProblem(tuple(each), jobs, weights=FAIR)


def shared(problem, seconds=20):
    """The best rota's minutes of everybody."""
    answer = polish(problem, solve(problem, steps=500), seconds)
    assert answer.proved
    found = loads(problem, answer.assigned)
    assert answer.bill.deviation == pytest.approx(max(abs(each.assigned - each.target) for each in found))
    return [each.assigned for each in found]


def longest_first(minutes, people):
    """Each chore, the longest first, to whoever has least: R. L. Graham's LPT."""
    found = [0] * people
    for size in sorted(minutes, reverse=True):
        found[found.index(min(found))] += size
    return found


def differencing(minutes):
    """The difference that N. Karmarkar and R. Karp's rule leaves between two people."""
    left = sorted(minutes)
    while len(left) > 1:
        one, other = left.pop(), left.pop()
        left = sorted([*left, one - other])
    return left[0]


@pytest.mark.parametrize("people", (2, 3, 4))
def test_grahams_worst_case_of_longest_first_is_shared_out_evenly(people):
    # R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM Journal on Applied Mathematics 17 (1969): two of
    # each of 2m-1, …, m+1 and three of m; longest first ends after 4m-1 where 3m would do, the ratio 4/3 - 1/(3m).
    minutes = [*(each for each in range(people + 1, 2 * people) for _ in range(2)), people, people, people]
    assert max(longest_first(minutes, people)) == 4 * people - 1
    assert shared(farm(minutes, people)) == [3 * people] * people


def test_korfs_example_of_number_partitioning_is_shared_out_evenly():
    # R. E. Korf, "A complete anytime algorithm for number partitioning", Artificial Intelligence 106 (1998): of 4, 5,
    # 6, 7 and 8 the greedy rule leaves a difference of 4, Karmarkar and Karp's of 2, the best partition none.
    minutes = [4, 5, 6, 7, 8]
    one, other = longest_first(minutes, 2)
    assert (abs(one - other), differencing(minutes)) == (4, 2)
    assert shared(farm(minutes, 2)) == [15, 15]


@settings(max_examples=25, deadline=None)
@given(CHORES, st.integers(2, 4))
def test_nobody_is_further_from_an_even_part_than_list_scheduling_allows(minutes, people):
    # R. L. Graham, "Bounds for certain multiprocessing anomalies", Bell System Technical Journal 45 (1966): who gets
    # the last chore had no more than the mean of all the other work, so no load is above the mean by more than
    # (1 - 1/n) of the longest chore. The same rule leaves no load above another's once a chore is taken off it:
    # "envy-free up to one item", for chores in H. Aziz, I. Caragiannis, A. Igarashi, T. Walsh, "Fair allocation of
    # indivisible goods and chores" (IJCAI 2019). So none is below the mean by more than that either.
    found, mean = shared(farm(minutes, people)), sum(minutes) / people
    assert max(abs(load - mean) for load in found) <= (1 - 1 / people) * max(minutes) + 1e-6


@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(1, 60), min_size=1, max_size=6), st.integers(2, 3))
def test_longest_first_keeps_within_its_published_bound_and_is_never_nearer_to_even_than_the_best(
    minutes, people
):
    # Graham (1969) again: longest first needs at most 4/3 - 1/(3m) of the shortest possible time.
    rule, mean = longest_first(minutes, people), sum(minutes) / people
    every = [
        [sum(size for size, who in zip(minutes, whose, strict=True) if who == each) for each in range(people)]
        for whose in product(range(people), repeat=len(minutes))
    ]
    assert 3 * people * max(rule) <= (4 * people - 1) * min(map(max, every))
    off = min(max(abs(load - mean) for load in each) for each in every)
    found = max(abs(load - mean) for load in shared(farm(minutes, people)))
    assert found == pytest.approx(off)
    assert found <= max(abs(load - mean) for load in rule) + 1e-6


@pytest.mark.parametrize("seed", range(4))
def test_chores_repeated_as_often_as_there_are_people_are_shared_exactly(seed):
    # A. Igarashi, M. Lackner, O. Nardi, A. Novaro, "Repeated fair allocation of indivisible items" (AAAI 2024): if the
    # repetitions are a multiple of the people, items can always be shared in proportion.
    random = Random(seed)
    people = 2 + seed % 3
    minutes = [random.randrange(5, 60) for _ in range(3)]
    assert shared(farm(minutes, people, days=people)) == [sum(minutes)] * people


@pytest.mark.parametrize("shares", ((0.5, 0.3, 0.2), (1.0, 0.5, 0.25, 0.125), (0.7, 0.3), (0.9, 0.05, 0.05)))
@pytest.mark.parametrize("count", (1, 5, 8))
def test_equal_chores_by_unequal_shares_are_as_near_as_tijdeman_proved_they_can_be(shares, count):
    # R. Tijdeman, "The chairman assignment problem", Discrete Mathematics 32 (1980): turns can be given to n
    # parties so that each at any time is within 1 - 1/(2n - 2) of a turn of its part.
    found = shared(farm([10] * count, len(shares), shares))
    parts = [10 * count * share / sum(shares) for share in shares]
    off = max(abs(load - part) for load, part in zip(found, parts, strict=True))
    assert off <= 10 * (1 - 1 / (2 * len(shares) - 2)) + 1e-6


@pytest.mark.parametrize(
    "minutes, off", (([10, 10, 10], 5), ([7, 11, 13], 2.5), ([60, 5, 5], 25), ([20], 10))
)
def test_two_people_are_as_near_to_even_as_any_split_of_the_chores(minutes, off):
    total = sum(minutes)
    sums = {sum(some) for size in range(len(minutes) + 1) for some in combinations(minutes, size)}
    assert min(abs(each - total / 2) for each in sums) == off
    assert abs(shared(farm(minutes, 2))[0] - total / 2) == off
