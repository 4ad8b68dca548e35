"""A steady rhythm against Little's law, L = λW, worked out here by hand from flows and days.

J. D. C. Little, "A proof for the queuing formula: L = λW" (Operations Research 9, 1961). Batches come at rate
λ = 1 / every; each is in the brooders W days, its rest counted; so L = W / every brooders are in use at a time.
"""

from fractions import Fraction
from math import ceil

import pytest

from farm.planning import rhythm
from farm.planning.problem import Arrival, Batch, Demand, Housing, Stage


def chicks(days, floor=100_000):
    """Birds of 10 dm² each that need a brooder for so many days, then a pen."""
    return Batch(
        "chicks", "chicks", "chicken", 10, Demand((floor,), (0,), (0,), (False,)),
        (Stage(frozenset({"brooder"}), 0, days), Stage(frozenset({"pen"}), days)), Arrival(rhythm.START),
    )  # fmt: skip


@pytest.mark.parametrize(
    "every, days, rest",
    ((7, 21, 0), (7, 28, 0), (14, 35, 0), (10, 24, 0), (5, 28, 2), (9, 21, 7), (30, 21, 3)),
)
def test_one_batch_to_a_brooder_takes_the_rate_times_the_days_rounded_up(every, days, rest):
    brooder = Housing("brooder", "Brooder", "brooder", 100, heated=True, one_batch=True, rest_days=rest)
    found = rhythm.steady(chicks(days), every, 10, brooder)
    assert found.bound == found.needed == ceil(Fraction(days + rest, every))


@pytest.mark.parametrize("every, days, birds, floor", ((7, 28, 5, 100), (7, 21, 10, 250), (14, 35, 3, 60)))
def test_shared_brooders_are_full_of_birds_at_the_rate_times_the_days(every, days, birds, floor):
    brooder = Housing("brooder", "Brooder", "brooder", floor, heated=True)
    found = rhythm.steady(chicks(days), every, birds, brooder)
    birds_at_a_time = Fraction(birds * days, every)
    assert found.bound == ceil(birds_at_a_time * 10 / floor)
    # Whole batches pack worse than water: at most one brooder more in these.
    assert found.bound <= found.needed <= found.bound + 1
