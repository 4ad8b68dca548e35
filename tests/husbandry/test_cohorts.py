"""Losses of birds at risk for different times: sums of binomials, checked by plain counting and by simulation."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry import survival
from farm.husbandry.cohorts import loss_limits
from farm.trade import load

CHANCE = st.floats(0, 1)
COHORTS = st.lists(st.tuples(st.integers(0, 60), CHANCE), min_size=1, max_size=4)


@pytest.mark.parametrize("key", ["chicken_layer_brown", "turkey_large", "duck"])
@pytest.mark.parametrize("age", [0, 3, 7, 28, 120])
def test_one_cohort_from_hatch_has_the_control_limits_of_its_programme(key, age):
    programme = load.programmes()[key]
    low, expected, high = loss_limits([(120, float(1 - survival.surviving_share(programme, age)))])
    assert ([low], [high]) == tuple(
        x.ravel().tolist() for x in survival.control_limits(120, programme, [age])
    )
    assert expected == pytest.approx(120 * (1 - survival.surviving_share(programme, age)))


def test_two_birds_with_different_chances_by_counting_every_outcome():
    cohorts = [(1, 0.5), (1, 0.25)]
    chances = {0: 0.0, 1: 0.0, 2: 0.0}
    for first, second in itertools.product((0, 1), repeat=2):
        chances[first + second] += (0.5) * (0.25 if second else 0.75)
    assert chances == {0: 0.375, 1: 0.5, 2: 0.125}
    assert loss_limits(cohorts, false_alarms=0.5) == (0, 0.75, 1)
    assert loss_limits(cohorts, false_alarms=0.2) == (0, 0.75, 2)


def test_no_birds_lose_none():
    assert loss_limits([]) == (0, 0.0, 0)
    assert loss_limits([(0, 0.5)]) == (0, 0.0, 0)


@given(COHORTS)
def test_limits_hold_the_expectation_and_stay_within_the_birds(cohorts):
    low, expected, high = loss_limits(cohorts)
    assert 0 <= low <= expected + 1
    assert expected - 1 <= high <= sum(birds for birds, _lost in cohorts)
    assert low <= high


@given(COHORTS, st.randoms())
def test_the_order_of_cohorts_does_not_matter(cohorts, random):
    mixed = list(cohorts)
    random.shuffle(mixed)
    assert loss_limits(mixed)[::2] == loss_limits(cohorts)[::2]


@given(st.integers(0, 40), st.integers(0, 40), CHANCE)
def test_a_cohort_cut_in_two_has_the_same_limits(one, other, lost):
    assert loss_limits([(one, lost), (other, lost)])[::2] == loss_limits([(one + other, lost)])[::2]


def test_chance_alone_crosses_the_limits_no_oftener_than_said():
    cohorts, rng = [(60, 0.04), (25, 0.02), (10, 0.3)], np.random.default_rng(20260501)
    low, _expected, high = loss_limits(cohorts, false_alarms=0.02)
    lost = sum(rng.binomial(birds, chance, size=200_000) for birds, chance in cohorts)
    assert np.mean(lost < low) <= 0.01 + 0.001
    assert np.mean(lost > high) <= 0.01 + 0.001
