"""Who may live with whom, and how far apart in age."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.trade.mixing import mixing
from farm.trade.programme import SPECIES
from farm.trade.sources import is_known


def test_turkeys_and_chickens_are_apart_even_when_grown():
    rule = mixing().apart("chicken", "turkey", brooding=False)
    assert rule is not None
    assert (rule.key, rule.source, rule.rest_days) == ("turkey_chicken", "ATTRA2010", 3 * 365)


@pytest.mark.parametrize("water", ["duck", "muscovy", "goose"])
@pytest.mark.parametrize("land", ["chicken", "turkey", "quail", "guinea", "pheasant"])
def test_waterfowl_are_not_brooded_with_land_birds(water, land):
    assert mixing().apart(water, land).key == "waterfowl_chick"


def test_grown_ducks_may_live_with_hens():
    assert mixing().apart("duck", "chicken", brooding=False) is None


@given(st.sampled_from(SPECIES))
def test_a_species_is_never_apart_from_itself(kind):
    assert mixing().apart(kind, kind) is None


@given(st.sampled_from(SPECIES), st.sampled_from(SPECIES), st.booleans())
def test_being_apart_goes_both_ways(first, second, brooding):
    assert mixing().apart(first, second, brooding) == mixing().apart(second, first, brooding)


def test_brood_mates_are_warned_of_past_a_week_and_refused_past_two():
    gap = mixing().age_gap
    assert (gap.warn_over_days, gap.refuse_over_days) == (7, 14)
    assert is_known(gap.source)
    assert is_known(gap.days_source)


def test_newcomers_are_isolated_for_thirty_days():
    days, _, source = mixing().isolation
    assert (days, source) == (30, "EXT-AI")


def test_pullets_join_the_hens_between_sixteen_and_eighteen_weeks():
    rule = mixing().into_hens
    assert (rule.from_day, rule.to_day) == (16 * 7, 18 * 7)
