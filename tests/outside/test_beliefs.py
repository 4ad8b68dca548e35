"""Our beta law against scipy's, an independent library."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import special, stats

from farm.husbandry import beta
from farm.husbandry.learning import Belief

SIZE = st.floats(-2, 5).map(lambda power: 10**power)
BELL = st.floats(0, 5).map(lambda power: 10**power)


@settings(deadline=None, max_examples=300)
@given(BELL, BELL, st.floats(0.001, 0.999))
def test_quantiles_of_a_rate_equal_scipys(a, b, q):
    """scipy.stats.beta.ppf; to 1e-9. From a, b = 1 on: below, it misses the middle of Beta(2/15, 2/15) by 1.4e-8."""
    assert beta.quantile(a, b, q) == pytest.approx(stats.beta.ppf(q, a, b), rel=0, abs=1e-9)


@settings(deadline=None, max_examples=300)
@given(SIZE, SIZE, st.floats(0.001, 0.999))
def test_scipy_finds_the_share_asked_for_at_our_quantiles(a, b, q):
    """scipy.special.betainc a billionth under and over our quantile has q between (its own rounding: 1e-10)."""
    ours = beta.quantile(a, b, q)
    assert special.betainc(a, b, max(ours - 1e-9, 0)) <= q + 1e-10
    assert special.betainc(a, b, min(ours + 1e-9, 1)) >= q - 1e-10


@settings(deadline=None, max_examples=300)
@given(SIZE, SIZE, st.floats(0, 1))
def test_the_share_below_a_rate_equals_scipys(a, b, x):
    """scipy.special.betainc; to 1e-9."""
    assert beta.cumulative(a, b, x) == pytest.approx(special.betainc(a, b, x), rel=0, abs=1e-9)


@settings(deadline=None)
@given(st.floats(0.01, 0.99), st.floats(1, 5000), st.sampled_from([0.5, 0.8, 0.9, 0.99]))
def test_the_interval_of_a_belief_equals_scipys(mean, worth, share):
    """scipy.stats.beta.interval; to 1e-9."""
    theirs = stats.beta.interval(share, mean * worth, (1 - mean) * worth)
    assert Belief.of(mean, worth).interval(share) == pytest.approx(theirs, rel=0, abs=1e-9)
