"""Whole-bird chances: they add to one and quantiles turn the sums round."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.husbandry import binomial

BIRDS = st.integers(0, 300)
CHANCE = st.floats(0.01, 0.99)


@given(BIRDS, st.floats(0, 1))
def test_chances_are_never_negative_and_add_to_one(n, p):
    chances = binomial.pmf(n, p)
    assert len(chances) == n + 1
    assert chances.min() >= 0
    assert chances.sum() == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize("n, p", [(3, 0.5), (4, 0.25), (5, 0.9)])
def test_chances_equal_counting_every_outcome_by_hand(n, p):
    by_hand = np.zeros(n + 1)
    for fates in itertools.product((True, False), repeat=n):
        by_hand[sum(fates)] += np.prod([p if alive else 1 - p for alive in fates])
    np.testing.assert_allclose(binomial.pmf(n, p), by_hand, atol=1e-14)


@pytest.mark.parametrize("p, certain", [(0.0, 0), (1.0, 7)])
def test_a_certain_fate_has_one_outcome(p, certain):
    assert binomial.pmf(7, p).tolist() == [float(k == certain) for k in range(8)]


@given(BIRDS, st.floats(0.1, 500), st.floats(0.1, 500))
@settings(deadline=None)
def test_beta_binomial_chances_add_to_one_around_the_same_mean(n, a, b):
    chances = binomial.beta_pmf(n, a, b)
    assert chances.sum() == pytest.approx(1, abs=1e-12)
    assert (chances * np.arange(n + 1)).sum() == pytest.approx(n * a / (a + b), rel=1e-6, abs=1e-6)


def test_a_beta_of_one_and_one_makes_every_count_as_likely():
    np.testing.assert_allclose(binomial.beta_pmf(9, 1, 1), np.full(10, 0.1))


@pytest.mark.parametrize("a, b", [(1.0, 1e-16), (1e-16, 1.0), (1e-9, 1e-9)])
def test_a_beta_law_that_is_all_or_nothing_keeps_its_mean(a, b):
    chances = binomial.beta_pmf(40, a, b)
    assert (chances[0], chances[-1]) == pytest.approx((b / (a + b), a / (a + b)), abs=1e-7)


@given(st.integers(1, 300), CHANCE, st.floats(0.01, 0.99))
def test_a_quantile_is_the_first_count_that_is_likely_enough(n, p, q):
    k = binomial.quantile(n, p, q)
    below = binomial.pmf(n, p).cumsum()
    assert below[k] >= q - 1e-12
    assert k == 0 or below[k - 1] < q


def test_the_middle_of_an_odd_number_of_coins_is_the_lower_half():
    """P(at most 34 of 69 heads) is exactly one half."""
    assert binomial.quantile(69, 0.5, 0.5) == 34


@given(BIRDS, CHANCE, st.floats(0, 1), st.floats(0, 1))
def test_a_higher_quantile_is_never_a_lower_count(n, p, q1, q2):
    low, high = sorted((q1, q2))
    assert binomial.quantile(n, p, low) <= binomial.quantile(n, p, high)


@given(st.integers(0, 200), CHANCE, CHANCE)
def test_likelier_survival_is_never_fewer_survivors(n, p1, p2):
    low, high = sorted((p1, p2))
    assert binomial.quantile(n, low, 0.5) <= binomial.quantile(n, high, 0.5)


@given(BIRDS, CHANCE)
def test_the_ends_of_the_quantiles_are_within_the_batch(n, p):
    assert 0 <= binomial.quantile(n, p, 0) <= binomial.quantile(n, p, 1) <= n


@pytest.mark.parametrize("n, p", [(-1, 0.5), (100_001, 0.5), (10, -0.1), (10, 1.1)])
def test_impossible_batches_and_chances_are_refused(n, p):
    with pytest.raises(ValueError):
        binomial.pmf(n, p)


@pytest.mark.parametrize("a, b", [(0, 1), (1, 0), (-1, 1)])
def test_an_impossible_beta_law_is_refused(a, b):
    with pytest.raises(ValueError, match="above 0"):
        binomial.beta_pmf(10, a, b)


@pytest.mark.parametrize("q", [-0.01, 1.01])
def test_a_quantile_outside_zero_to_one_is_refused(q):
    with pytest.raises(ValueError, match="within 0 to 1"):
        binomial.quantile(10, 0.5, q)
