"""Our odds of whole birds against scipy's laws, exact fractions and plain simulation."""

import itertools
from fractions import Fraction
from math import comb, prod

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from farm.husbandry import binomial, odds
from farm.husbandry.odds import Stage

CHANCE = st.floats(0.01, 0.99)
SHARE = st.sampled_from([0.5, 0.8, 0.9, 0.98])
TENTHS = st.integers(1, 9).map(lambda tenths: Fraction(tenths, 10))
# A known chance, or a beta law of whole evidence: (passed, did not).
EXACT_STAGE = st.one_of(TENTHS, st.tuples(st.integers(1, 9), st.integers(1, 9)))


@pytest.mark.parametrize("eggs, low, middle, high", [(24, 14, 17, 20), (100, 64, 70, 76)])
def test_chicks_from_set_eggs_have_scipys_quantiles(eggs, low, middle, high):
    """scipy.stats.binom.ppf: chicks from 24 and 100 eggs at .70: 10, 50, 90 %; exact."""
    law = odds.birds(eggs, [Stage("hatched", 0.70)])
    assert odds.band(law, 0.8) == (low, high) == tuple(stats.binom.ppf([0.10, 0.90], eggs, 0.70))
    assert odds.band(law, 0) == (middle, middle) == tuple(stats.binom.ppf([0.50, 0.50], eggs, 0.70))


@pytest.mark.parametrize("chicks, low, high", [(100, 91, 98), (50, 45, 50)])
def test_survivors_have_scipys_quantiles(chicks, low, high):
    """scipy.stats.binom.ppf: survivors of 100 and 50 at .95: 5, 95 %; exact."""
    law = odds.birds(chicks, [Stage("alive", 0.95)])
    assert odds.band(law, 0.9) == (low, high) == tuple(stats.binom.ppf([0.05, 0.95], chicks, 0.95))


@pytest.mark.parametrize(
    "wanted, chances, confidence, printed",
    [
        (50, [0.95], 0.90, 55),
        (50, [0.95], 0.95, 56),
        (20, [0.70], 0.90, 33),
        (30, [0.95, 0.5], 0.90, 74),
    ],
)
def test_birds_to_order_are_the_fewest_that_scipy_calls_enough(wanted, chances, confidence, printed):
    """scipy.stats.binom.sf: chicks for 50 at .95, eggs for 20 at .70, straight-run chicks for 30 pullets; exact."""
    ours = odds.smallest_start(wanted, [Stage("passes", chance) for chance in chances], confidence)
    assert ours == printed
    assert stats.binom.sf(wanted - 1, ours, prod(chances)) >= confidence
    assert stats.binom.sf(wanted - 1, ours - 1, prod(chances)) < confidence


def test_straight_run_chicks_for_thirty_pullets_stay_below_the_old_rule():
    """Common practice, no source: for 30 pullets start 100 straight-run chicks (old, generous)."""
    assert odds.smallest_start(30, [Stage("alive", 0.95), Stage("pullet", 0.5)], 0.90) <= 100


@settings(deadline=None)
@given(st.integers(0, 1000), st.lists(CHANCE, min_size=1, max_size=4), SHARE)
def test_bands_of_known_chances_equal_scipys(n, chances, share):
    """scipy.stats.binom.ppf; exact, but where an edge is a whole sum: there scipy's rounding decides, not the law."""
    edges = np.array([(1 - share) / 2, (1 + share) / 2])
    sums = stats.binom.cdf(np.arange(n + 1), n, prod(chances))
    assume(np.abs(sums[:, None] - edges).min() > 1e-12)
    law = odds.birds(n, [Stage("passes", chance) for chance in chances])
    assert odds.band(law, share) == tuple(stats.binom.ppf(edges, n, prod(chances)))


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 500), CHANCE, st.floats(1, 2000), SHARE)
def test_bands_of_a_learned_chance_equal_scipys(n, chance, worth, share):
    """scipy.stats.betabinom.cdf: the fewest birds that reach each quantile, where rounding (1e-9) leaves no choice."""
    theirs = stats.betabinom.cdf(np.arange(n + 1), n, worth * chance, worth * (1 - chance))
    for edge, q in zip(
        odds.band(odds.birds(n, [Stage("passes", chance, worth)]), share),
        ((1 - share) / 2, (1 + share) / 2),
        strict=True,
    ):
        assert theirs[edge] >= q - 1e-9
        assert edge == 0 or theirs[edge - 1] < q + 1e-9


@settings(deadline=None, max_examples=60)
@given(st.integers(1, 60), CHANCE.filter(lambda p: p > 0.3), st.floats(20, 500), st.floats(0.5, 0.95))
def test_the_fewest_eggs_at_a_learned_rate_are_those_scipy_calls_enough(wanted, chance, worth, confidence):
    """scipy.stats.betabinom.sf, to 1e-9."""
    ours = odds.smallest_start(wanted, [Stage("hatched", chance, worth)], confidence)
    a, b = worth * chance, worth * (1 - chance)
    assert stats.betabinom.sf(wanted - 1, ours, a, b) >= confidence - 1e-9
    assert stats.betabinom.sf(wanted - 1, ours - 1, a, b) < confidence + 1e-9


def rising(start, count):
    """start (start + 1) ... of so many factors."""
    return prod(range(start, start + count))


def exactly(n, stage):
    """P(k of n pass) for k = 0..n as fractions, written out from the definitions."""
    if isinstance(stage, Fraction):
        return [comb(n, k) * stage**k * (1 - stage) ** (n - k) for k in range(n + 1)]
    a, b = stage
    return [Fraction(comb(n, k) * rising(a, k) * rising(b, n - k), rising(a + b, n)) for k in range(n + 1)]


def exact_chain(n, stages):
    """P(k of n pass every stage) as fractions: every count before, times every count after."""
    law = [Fraction(0)] * n + [Fraction(1)]
    for stage in stages:
        after = [Fraction(0)] * (n + 1)
        for before, chance in enumerate(law):
            for k, passed in enumerate(exactly(before, stage)):
                after[k] += chance * passed
        law = after
    assert sum(law) == 1
    return law


def as_stage(stage):
    if isinstance(stage, Fraction):
        return Stage("known", float(stage))
    return Stage("learned", stage[0] / sum(stage), sum(stage))


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 12), st.lists(EXACT_STAGE, max_size=4))
def test_chains_of_stages_equal_exact_fractions(n, stages):
    """Every count before and after each stage, in fractions; to 1e-14."""
    ours = odds.birds(n, [as_stage(stage) for stage in stages])
    theirs = [float(chance) for chance in exact_chain(n, stages)]
    np.testing.assert_allclose(ours, theirs, rtol=0, atol=1e-14)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 5), EXACT_STAGE), min_size=1, max_size=3))
def test_birds_of_several_lots_together_equal_exact_fractions(lots):
    """Every combination of counts of the lots, in fractions; to 1e-14."""
    summed = [Fraction(0)] * (sum(n for n, _stage in lots) + 1)
    laws = [exactly(n, stage) for n, stage in lots]
    for counts in itertools.product(*(range(len(law)) for law in laws)):
        summed[sum(counts)] += prod((law[k] for law, k in zip(laws, counts, strict=True)), start=Fraction(1))
    ours = odds.together(odds.birds(n, [as_stage(stage)]) for n, stage in lots)
    np.testing.assert_allclose(ours, [float(chance) for chance in summed], rtol=0, atol=1e-14)


@pytest.mark.parametrize("n, a, b, c", [(2_000, 30, 10, 10), (2_000, 3, 1, 2), (1_500, 3000, 1000, 500)])
def test_two_learned_stages_equal_the_one_law_their_product_has(n, a, b, c):
    """Beta(a + b, c) times Beta(a, b) is Beta(a, b + c): summed in whole-number fractions; to 1e-12."""
    ways = comb(n + a + b + c - 1, n)
    theirs = np.array(
        [float(Fraction(comb(k + a - 1, k) * comb(n - k + b + c - 1, n - k), ways)) for k in range(n + 1)]
    )
    ours = odds.birds(n, [as_stage((a + b, c)), as_stage((a, b))])
    np.testing.assert_allclose(ours, theirs, rtol=0, atol=1e-12)
    np.testing.assert_allclose(ours.cumsum(), theirs.cumsum(), rtol=0, atol=1e-12)


def test_ten_thousand_eggs_in_two_learned_stages_keep_their_precision():
    """Beta(40, 10) times Beta(30, 10) is Beta(30, 20); each one count in 500 in fractions; to 1e-12."""
    n, ways = 10_000, comb(10_049, 10_000)
    ours = odds.birds(n, [as_stage((40, 10)), as_stage((30, 10))])
    for k in range(0, n + 1, 500):
        exact = Fraction(comb(k + 29, k) * comb(n - k + 19, n - k), ways)
        assert ours[k] == pytest.approx(float(exact), rel=0, abs=1e-12)


def test_a_late_stage_equals_mixing_scipys_laws_count_by_count():
    """scipy.stats.betabinom.pmf mixed over a flat start and over one with a gap; to 1e-11."""
    flat = np.full(301, 1 / 301)
    gap = (np.arange(301) == 20) * 0.25 + (np.arange(301) == 290) * 0.75
    k = np.arange(301)
    for start in (flat, gap):
        theirs = sum(chance * stats.betabinom.pmf(k, j, 35, 15) for j, chance in enumerate(start))
        ours = odds.after(start, [Stage("hatched", 0.7, 50)])
        np.testing.assert_allclose(ours, theirs, rtol=0, atol=1e-11)


def test_two_hundred_eggs_simulated_end_as_the_law_says():
    """400,000 sets of 200 eggs, seeded: fertile and hatched learned, then alive. Each sum within 0.004 of the law.

    The largest gap between simulated and true sums exceeds 0.004 with chance below 2 exp(-2 x 400,000 x 0.004^2),
    which is 6 in a million (Dvoretzky, Kiefer and Wolfowitz).
    """
    rng, runs = np.random.default_rng(20260310), 400_000
    fertile = rng.binomial(200, rng.beta(45, 5, runs))
    hatched = rng.binomial(fertile, rng.beta(39, 11, runs))
    alive = rng.binomial(hatched, 0.95)
    counted = np.bincount(alive, minlength=201).cumsum() / runs
    law = odds.birds(200, [Stage("fertile", 0.9, 50), Stage("hatched", 0.78, 50), Stage("alive", 0.95)])
    assert np.abs(counted - law.cumsum()).max() < 0.004
    known = binomial.pmf(200, 0.9 * 0.78 * 0.95)
    assert np.abs(counted - known.cumsum()).max() > 0.05  # taking the chances as known would be seen
