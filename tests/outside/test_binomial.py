"""Our sums over whole birds against scipy's, an independent library."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from farm.husbandry import binomial

CHANCE = st.floats(0.01, 0.99)


@pytest.mark.parametrize("eggs, printed", [(24, (14, 17, 20)), (100, (64, 70, 76))])
def test_chicks_from_set_eggs_have_scipys_quantiles(eggs, printed):
    """scipy.stats.binom.ppf: chicks from 24 and 100 eggs at .70: 10, 50, 90 %; exact."""
    ours = tuple(binomial.quantile(eggs, 0.70, q) for q in (0.10, 0.50, 0.90))
    assert ours == printed == tuple(stats.binom.ppf([0.10, 0.50, 0.90], eggs, 0.70))


@pytest.mark.parametrize("chicks, printed", [(100, (91, 98)), (50, (45, 50))])
def test_survivors_have_scipys_quantiles(chicks, printed):
    """scipy.stats.binom.ppf: survivors of 100 and 50 at .95: 5, 95 %; exact."""
    ours = tuple(binomial.quantile(chicks, 0.95, q) for q in (0.05, 0.95))
    assert ours == printed == tuple(stats.binom.ppf([0.05, 0.95], chicks, 0.95))


@pytest.mark.parametrize(
    "wanted, chance, confidence, printed",
    [(50, 0.95, 0.90, 55), (50, 0.95, 0.95, 56), (20, 0.70, 0.90, 33), (30, 0.475, 0.90, 74)],
)
def test_birds_to_order_are_the_fewest_that_scipy_calls_enough(wanted, chance, confidence, printed):
    """scipy.stats.binom.sf: chicks for 50 at .95, eggs for 20 at .70, straight-run chicks for 30 pullets; exact."""
    ours = binomial.smallest_n(wanted, chance, confidence)
    assert ours == printed
    assert stats.binom.sf(wanted - 1, ours, chance) >= confidence
    assert stats.binom.sf(wanted - 1, ours - 1, chance) < confidence


def test_straight_run_chicks_for_thirty_pullets_stay_below_the_old_rule():
    """Common practice, no source: for 30 pullets start 100 straight-run chicks (old, generous)."""
    assert binomial.smallest_n(30, 0.475, 0.90) <= 100


@settings(deadline=None)
@given(st.integers(0, 600), CHANCE)
def test_binomial_chances_equal_scipys(n, p):
    """scipy.stats.binom.pmf; to 1e-10."""
    np.testing.assert_allclose(
        binomial.pmf(n, p), stats.binom.pmf(np.arange(n + 1), n, p), rtol=0, atol=1e-10
    )


@settings(deadline=None)
@given(st.integers(0, 300), st.floats(0.5, 200), st.floats(0.5, 200))
def test_beta_binomial_chances_equal_scipys(n, a, b):
    """scipy.stats.betabinom.pmf; to 1e-9."""
    theirs = stats.betabinom.pmf(np.arange(n + 1), n, a, b)
    np.testing.assert_allclose(binomial.beta_pmf(n, a, b), theirs, rtol=0, atol=1e-9)


@settings(deadline=None)
@given(st.integers(1, 400), CHANCE, st.sampled_from([0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95]))
def test_binomial_quantiles_equal_scipys(n, p, q):
    """scipy.stats.binom.ppf; exact."""
    assert binomial.quantile(n, p, q) == stats.binom.ppf(q, n, p)
