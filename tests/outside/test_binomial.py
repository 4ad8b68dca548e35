"""Our sums over whole birds against scipy's, an independent library."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from farm.husbandry import binomial

CHANCE = st.floats(0.01, 0.99)


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
    """scipy.stats.binom.ppf; exact, but where q is a whole sum: there scipy's rounding decides, not the law."""
    assume(np.abs(stats.binom.cdf(np.arange(n + 1), n, p) - q).min() > 1e-12)
    assert binomial.quantile(n, p, q) == stats.binom.ppf(q, n, p)
