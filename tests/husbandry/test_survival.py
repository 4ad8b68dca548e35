"""Losses by age: the printed shares, whole-bird quantiles, and when losses are out of the ordinary."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.husbandry import binomial, survival
from farm.trade.load import programmes

BROWN, QUAIL = programmes()["chicken_layer_brown"], programmes()["quail_layer"]
each_programme = pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)


@pytest.mark.parametrize("day, share", [(-1, 1), (0, 1), (7, 0.97), (24.5, 0.96), (42, 0.95)])
def test_chickens_survive_by_straight_lines_through_the_stated_shares(day, share):
    assert survival.surviving_share(BROWN, day) == pytest.approx(share)


def test_after_the_last_knot_half_a_percent_is_lost_a_month():
    assert survival.surviving_share(BROWN, 42 + 365.25) == pytest.approx(0.95 - 12 * 0.005)


def test_losses_stop_at_the_most_a_programme_may_state():
    assert survival.surviving_share(BROWN, 1_000_000) == pytest.approx(0.4)


@each_programme
def test_the_share_alive_only_ever_falls(programme):
    alive = survival.surviving_share(programme, np.arange(500))
    assert alive[0] == 1
    assert (np.diff(alive) <= 0).all()
    assert alive.min() > 0.4


@given(st.integers(0, 200), st.integers(0, 200), st.integers(0, 200))
def test_surviving_two_spans_is_surviving_the_one_they_make(a, b, c):
    first, second, third = sorted((a, b, c))
    through = survival.chance(BROWN, first, second) * survival.chance(BROWN, second, third)
    assert through == pytest.approx(survival.chance(BROWN, first, third))


def test_a_hundred_chicks_are_expected_to_leave_ninety_five():
    assert survival.expected(100, BROWN, 0, 42) == pytest.approx(95)


def test_no_time_means_no_losses():
    assert survival.chance(BROWN, 30, 30) == 1
    assert survival.quantile(40, BROWN, 30, 30, 0.05) == 40
    assert survival.quantile(40, BROWN, 30, 30, 0.05, prior_birds=50) == 40


def test_time_does_not_run_backward():
    with pytest.raises(ValueError, match="must not be before"):
        survival.chance(BROWN, 30, 29)


def test_the_quantile_is_the_binomials_at_the_programmes_losses():
    assert survival.quantile(100, BROWN, 0, 42, 0.05) == binomial.quantile(100, 0.95, 0.05) == 91


@settings(deadline=None)
@given(st.integers(1, 300), st.integers(1, 120), st.sampled_from([0.05, 0.1]))
def test_less_evidence_never_promises_more_birds(n, age, q):
    sure = survival.quantile(n, QUAIL, 0, age, q)
    assert survival.quantile(n, QUAIL, 0, age, q, prior_birds=50) <= sure
    assert survival.quantile(n, QUAIL, 0, age, q, prior_birds=10) <= sure


@settings(deadline=None)
@given(st.integers(1, 100))
def test_endless_evidence_comes_back_to_the_binomial(n):
    plain = survival.quantile(n, QUAIL, 0, 42, 0.1)
    assert abs(survival.quantile(n, QUAIL, 0, 42, 0.1, prior_birds=1e7) - plain) <= 1


def test_forty_chicks_by_day_42_may_lose_up_to_six_without_alarm():
    low, high = survival.control_limits(40, BROWN, 42)
    assert (low, high) == (0, 6)


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 400), st.integers(0, 200))
def test_ordinary_losses_leave_no_more_alarms_than_stated(n, age):
    low, high = survival.control_limits(n, BROWN, age)
    chances = binomial.pmf(n, float(1 - survival.surviving_share(BROWN, age)))
    assert chances[: int(low)].sum() <= survival.FALSE_ALARMS / 2
    assert chances[int(high) + 1 :].sum() <= survival.FALSE_ALARMS / 2 + 1e-12
    assert 0 <= low <= high <= n


def test_limits_only_widen_with_age():
    low, high = survival.control_limits(200, QUAIL, np.arange(100))
    assert (np.diff(low) >= 0).all()
    assert (np.diff(high) >= 0).all()
    assert (low[0], high[0]) == (0, 0)


def test_limits_have_the_shape_of_the_ages():
    ages = np.arange(6).reshape(2, 3)
    low, high = survival.control_limits(50, BROWN, ages)
    assert low.shape == high.shape == (2, 3)
    assert survival.control_limits(50, BROWN, 5)[0].shape == ()


def test_fewer_false_alarms_mean_wider_limits():
    _, narrow = survival.control_limits(200, BROWN, 42, false_alarms=0.2)
    _, wide = survival.control_limits(200, BROWN, 42, false_alarms=0.001)
    assert narrow < wide
