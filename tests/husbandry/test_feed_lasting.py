"""How long feed lasts, when to order, and how long it keeps."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.feeding import shelf
from farm.husbandry.feeding.factor import Emptied, FarmFactor, learned, prior
from farm.husbandry.feeding.lasting import RunOut, order_by, run_out

MONDAY = date(2026, 3, 2)
SURE = FarmFactor(0.0, 1e-9)
USE = st.lists(st.floats(0, 9), min_size=1, max_size=60).map(np.array)


def day(number):
    return MONDAY + timedelta(days=number)


def far(when):
    return date.max if when is None else when


def test_feed_for_ten_days_runs_out_on_the_eleventh():
    assert run_out(20, np.full(30, 2.0), MONDAY, SURE).likely == day(10)


def test_the_day_it_does_not_fully_feed_is_the_day_it_runs_out():
    assert run_out(19.9, np.full(30, 2.0), MONDAY, SURE).likely == day(9)
    assert run_out(0, np.full(30, 2.0), MONDAY, SURE).likely == day(0)


def test_an_empty_store_lasts_as_long_as_nobody_eats():
    assert run_out(0, np.array([0, 0, 1.0]), MONDAY, SURE).likely == day(2)
    assert run_out(0, np.zeros(5), MONDAY, SURE).likely is None


def test_a_delivery_makes_it_last_longer_from_the_day_it_comes():
    use = np.full(30, 2.0)
    assert run_out(4, use, MONDAY, SURE, {day(2): 10}).likely == day(7)
    assert run_out(4, use, MONDAY, SURE, {day(3): 10}).likely == day(2)
    assert run_out(4, use, MONDAY, SURE, {day(-3): 10}).likely == day(7)


@given(st.floats(0, 300), USE, st.floats(0.5, 2), st.floats(0.001, 0.4))
def test_the_likely_day_lies_between_the_early_and_the_late(stock, use, times, spread):
    run = run_out(stock, use, MONDAY, FarmFactor(float(np.log(times)), spread))
    assert far(run.early) <= far(run.likely) <= far(run.late)


@given(st.floats(0, 300), st.floats(0, 50), USE)
def test_more_in_store_never_runs_out_sooner(stock, more, use):
    less, full = (run_out(kg, use, MONDAY, prior()) for kg in (stock, stock + more))
    assert far(less.early) <= far(full.early)
    assert far(less.likely) <= far(full.likely)


def test_a_farm_that_has_opened_bags_knows_its_day_more_closely():
    use = np.full(200, 2.0)
    known = learned(prior(), [Emptied(MONDAY, 21, 20, 10)] * 12)
    width = [(run.late - run.early).days for run in (run_out(100, use, MONDAY, b) for b in (prior(), known))]
    assert width[1] < width[0]


def test_what_farms_use_runs_out_within_the_band_as_often_as_said():
    """5,000 invented farms drawn from the belief: the band holds about 9 in 10, whole days making it a little more."""
    rng, use = np.random.default_rng(7), np.full(300, 2.0)
    run = run_out(120, use, MONDAY, prior())
    factors = np.exp(rng.normal(np.log(1.05), 0.15, 5000) + rng.normal(0, 0.08, 5000))
    gone = [int(np.argmax(np.cumsum(use) * times > 120)) for times in factors]
    held = np.mean([run.early <= day(n) <= run.late for n in gone])
    assert 0.88 <= held <= 0.95


def test_a_store_below_nothing_is_refused():
    with pytest.raises(ValueError, match="below 0"):
        run_out(-1, np.ones(3), MONDAY, SURE)


def ran(early, likely, late=None):
    return RunOut(early, likely, late, 0.9)


def test_feed_is_ordered_a_lead_and_a_margin_before_it_runs_out():
    found = order_by(ran(day(20), day(20)), MONDAY)
    assert (found.delivered_on, found.order_on, found.overdue) == (day(17), day(12), False)


def test_a_farm_that_is_not_sure_of_its_day_goes_by_the_early_one():
    assert order_by(ran(day(12), day(20)), MONDAY).delivered_on == day(12)


def test_the_delivery_goes_back_to_a_day_the_shop_delivers():
    # day 17 is a Thursday; the lorry comes on Tuesdays alone
    assert order_by(ran(day(20), day(20)), MONDAY, weekdays={1}).delivered_on == day(15)


def test_an_order_that_cannot_come_in_time_says_so():
    assert order_by(ran(day(6), day(7)), MONDAY).overdue
    assert not order_by(ran(day(8), day(8)), MONDAY, lead_days=5).overdue


def test_feed_that_lasts_needs_no_order():
    assert order_by(ran(None, None), MONDAY) is None


@given(st.integers(0, 60), st.integers(0, 60), st.integers(0, 60), st.sets(st.integers(0, 6), min_size=1))
def test_a_delivery_is_never_after_the_margin_and_always_on_a_delivery_day(early, more, lead, weekdays):
    run = ran(day(early), day(early + more))
    found = order_by(run, MONDAY, lead, weekdays)
    assert found.delivered_on <= min(run.early, run.likely - timedelta(days=3))
    assert found.delivered_on.weekday() in weekdays
    assert found.delivered_on > min(run.early, run.likely - timedelta(days=3)) - timedelta(days=7)
    assert found.order_on == found.delivered_on - timedelta(days=lead)


@pytest.mark.parametrize("lead, weekdays", [(-1, {0}), (3, set()), (3, {9})])
def test_an_order_without_a_delivery_day_is_refused(lead, weekdays):
    with pytest.raises(ValueError, match="weekday"):
        order_by(ran(day(9), day(9)), MONDAY, lead, weekdays)


@pytest.mark.parametrize(
    "age, mean_c, state",
    [
        *[(0, None, "fresh"), (44, None, "fresh"), (45, None, "hurry"), (59, 25, "hurry"), (60, 25, "old")],
        *[(21, 26, "fresh"), (22, 26, "hurry"), (29, 30, "hurry"), (30, 30, "old")],
    ],
)
def test_feed_keeps_sixty_days_from_milling_and_half_of_that_where_it_is_warm(age, mean_c, state):
    assert shelf.state(MONDAY, day(age), mean_c) == state


def test_feed_says_until_when_it_keeps_and_what_to_do_when_it_is_too_old():
    assert str(shelf.words(MONDAY, day(1))) == "Keeps until 1 May, dry and cool."
    assert str(shelf.words(MONDAY, day(50))) == "Use this first: it keeps until 1 May."
    assert "never feed mould" in str(shelf.words(MONDAY, day(70)))
