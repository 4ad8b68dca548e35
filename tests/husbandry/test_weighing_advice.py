"""What the mean weight of a few birds says, and how sure it can be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.advice.weighing import HEAVY, LIGHT, SLIP, USUAL, mean_spread_g, weighed
from farm.husbandry.growth import FEMALE, MALE, SEXES, STRAIGHT_RUN, weight_g
from farm.trade.load import programmes

BROWN, MEAT = programmes()["chicken_layer_brown"], programmes()["chicken_meat"]
KEYS, AGES = st.sampled_from(sorted(programmes())), st.integers(0, 200)


@given(KEYS, AGES, st.sampled_from(SEXES), st.integers(1, 100))
def test_the_tables_own_weight_is_always_as_expected(key, age, sex, birds):
    mean = float(weight_g(programmes()[key], age, sex))
    found = weighed(programmes()[key], age, sex, mean, birds)
    assert found.verdict == USUAL
    assert 0 < found.low_g < mean < found.high_g
    assert not found.vet


@given(KEYS, AGES, st.sampled_from(SEXES), st.integers(1, 50))
def test_more_birds_on_the_scales_never_widen_what_is_usual(key, age, sex, birds):
    few, more = (mean_spread_g(programmes()[key], age, sex, n) for n in (birds, birds + 10))
    assert more < few


@given(AGES, st.floats(0.31, 1.99), st.integers(1, 60))
def test_verdicts_follow_the_weight_from_light_to_heavy(age, share, birds):
    expected = float(weight_g(BROWN, age, FEMALE))
    found = weighed(BROWN, age, FEMALE, share * expected, birds)
    verdict = LIGHT if share * expected < found.low_g else HEAVY if share * expected > found.high_g else USUAL
    assert found.verdict == verdict
    assert found.vet <= (found.verdict == LIGHT)


def test_one_light_bird_says_less_than_ten_of_the_same_mean():
    mean = 0.75 * float(weight_g(BROWN, 42, FEMALE))
    assert weighed(BROWN, 42, FEMALE, mean, 1).verdict == USUAL
    assert weighed(BROWN, 42, FEMALE, mean, 10).verdict == LIGHT


def test_birds_of_both_sexes_may_differ_more_than_those_of_one():
    mixed, hens, cocks = (mean_spread_g(MEAT, 42, sex, 10) for sex in (STRAIGHT_RUN, FEMALE, MALE))
    assert mixed > (hens + cocks) / 2


def test_healthy_birds_of_the_tables_own_strain_are_rarely_cried_over():
    """20,000 invented weighings of ten birds, strains and birds drawn with the stated spreads: 9 in 10 are usual."""
    rng, expected = np.random.default_rng(11), float(weight_g(BROWN, 60, FEMALE))
    strains = expected * (1 + rng.normal(0, 0.10, 20_000))
    means = strains + rng.normal(0, 0.15 * expected, (10, 20_000)).mean(axis=0)
    found = weighed(BROWN, 60, FEMALE, expected, 10)
    assert np.mean((means >= found.low_g) & (means <= found.high_g)) == pytest.approx(0.9, abs=0.01)


@pytest.mark.parametrize(
    "share, verdict, vet, word",
    [
        (1, USUAL, False, "as expected"),
        (0.75, LIGHT, False, "Weigh again in a week"),
        (0.5, LIGHT, True, "ask your vet"),
        (1.5, HEAVY, False, "Fast growth strains legs"),
        (0.2, SLIP, True, "If it is, ask your vet"),
        (2.5, SLIP, False, "the unit right?"),
    ],
)
def test_each_verdict_is_said_plainly(share, verdict, vet, word):
    found = weighed(BROWN, 42, FEMALE, 500 * share, 10)
    assert (found.verdict, found.vet) == (verdict, vet)
    assert word in str(found.words)


def test_grown_birds_are_said_in_kilograms():
    assert str(weighed(BROWN, 140, FEMALE, 1600, 10).words).startswith("1.60 kg: as expected")


@pytest.mark.parametrize("mean, birds", [(0, 3), (-5, 3), (500, 0), (float("nan"), 3), (float("inf"), 3)])
def test_no_birds_or_no_weight_is_refused(mean, birds):
    with pytest.raises(ValueError, match="at least one bird"):
        weighed(BROWN, 42, FEMALE, mean, birds)
