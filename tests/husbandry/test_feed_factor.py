"""The farm's own factor, learned from bags: what moves it, what does not, and that its interval keeps its word."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.feeding.factor import Emptied, Opening, emptied, learned, prior, times_by_day

FIRST = date(2026, 3, 1)
BAGS = st.builds(Emptied, st.just(FIRST), st.floats(5, 100), st.floats(5, 100), st.integers(1, 60))


def day(number):
    return FIRST + timedelta(days=number)


def test_before_any_bag_the_farm_is_taken_to_waste_a_twentieth():
    assert prior().likely == pytest.approx(1.05)
    low, high = prior().interval()
    assert low < 0.9 < 1.3 < high


def test_a_bag_is_emptied_when_the_next_is_opened_and_the_last_is_still_open():
    table = np.full(40, 2.0)
    found = emptied([Opening(day(0), 25), Opening(day(10), 25), Opening(day(22), 25)], table, FIRST)
    assert [(bag.kg, bag.table_kg, bag.days) for bag in found] == [(25, 20, 10), (25, 24, 12)]


def test_bags_opened_on_one_day_are_one_measurement_in_any_order():
    table = np.full(40, 2.0)
    found = emptied([Opening(day(20), 5), Opening(day(0), 20), Opening(day(0), 25)], table, FIRST)
    assert [(bag.kg, bag.days) for bag in found] == [(45, 20)]


def test_a_bag_that_stood_while_nobody_ate_of_it_says_nothing():
    table = np.full(40, 2.0)
    table[5:8] = 0
    assert emptied([Opening(day(0), 25), Opening(day(10), 25)], table, FIRST) == []


@pytest.mark.parametrize("openings", [[-5, 10], [30, 50]])
def test_a_bag_of_days_that_are_not_known_says_nothing(openings):
    assert emptied([Opening(day(n), 25) for n in openings], np.full(40, 2.0), FIRST) == []


@given(st.lists(BAGS, max_size=12), st.randoms())
def test_bags_may_come_in_any_order(bags, random):
    mixed = list(bags)
    random.shuffle(mixed)
    one, other = learned(prior(), bags), learned(prior(), mixed)
    assert one.likely == pytest.approx(other.likely)
    assert (one.seen, one.left_out) == (other.seen, other.left_out)


@given(BAGS)
def test_each_believable_bag_narrows_the_belief_and_pulls_it_toward_what_it_showed(bag):
    before, after = prior(), learned(prior(), [bag])
    if not bag.believable:
        assert (after.likely, after.left_out) == (before.likely, 1)
        return
    assert after.log_spread < before.log_spread
    low, high = sorted((before.likely, bag.ratio))
    assert low * (1 - 1e-9) <= after.likely <= high * (1 + 1e-9)


def test_a_bag_that_lasted_longer_tells_more():
    short, long = (learned(prior(), [Emptied(FIRST, 13.0 * n, 10.0 * n, n)]) for n in (2, 30))
    assert abs(long.likely - 1.3) < abs(short.likely - 1.3)
    assert long.log_spread < short.log_spread


def test_a_slip_by_ten_times_moves_nothing_and_is_counted():
    belief = learned(prior(), [Emptied(FIRST, 250, 25, 12), Emptied(FIRST, 25, 24, 12)])
    assert (belief.seen, belief.left_out) == (1, 1)
    assert belief.likely < 1.1


def test_what_batches_ate_of_a_bag_together_is_the_bag_and_what_comes_is_as_likely():
    first, second = np.linspace(1, 2, 40), np.full(40, 0.5)
    bags = emptied([Opening(day(n), 25) for n in (3, 14, 25)], first + second, FIRST)
    belief = learned(prior(), bags)
    times = times_by_day(bags, belief, FIRST, 40)
    assert ((first + second) * times)[3:14].sum() == pytest.approx(25)
    assert ((first + second) * times)[14:25].sum() == pytest.approx(25)
    assert times[[0, 2, 25, 39]].tolist() == [belief.likely] * 4


def test_a_bag_from_before_the_window_or_not_believed_sets_no_day():
    belief = prior()
    bags = [Emptied(day(-8), 30, 20, 10), Emptied(day(5), 900, 20, 10), Emptied(day(-40), 30, 20, 10)]
    times = times_by_day(bags, belief, FIRST, 20)
    assert times[:2].tolist() == [1.5, 1.5]
    assert set(times[2:]) == {belief.likely}


def test_bags_that_follow_each_other_tell_as_much_as_the_same_feed_and_days_in_one_chain():
    """A gap between bags leaves a doubt at each of four ends, bags that follow only at two."""
    chained = [Emptied(day(0), 26, 20, 10), Emptied(day(10), 24, 20, 10)]
    apart = [chained[0], Emptied(day(30), 24, 20, 10)]
    assert learned(prior(), chained).log_spread < learned(prior(), apart).log_spread
    assert learned(prior(), chained).seen == learned(prior(), apart).seen == 2


def test_many_bags_in_few_days_tell_no_more_than_those_days():
    many = [Emptied(day(n), 260, 200, 1) for n in range(10)]
    assert learned(prior(), many).log_spread == pytest.approx(
        learned(prior(), [Emptied(FIRST, 2600, 2000, 10)]).log_spread
    )


def test_farms_that_open_a_bag_when_the_last_is_empty_are_learned_as_closely_as_stated():
    """1,000 invented farms, each with a true factor and fortnights that differ: the interval holds about 9 in 10."""
    rng, held, errors = np.random.default_rng(20260401), 0, []
    table = 0.9 + 0.02 * np.arange(150)
    for _ in range(1000):
        truth = float(np.exp(rng.normal(np.log(1.05), 0.15)))
        fortnights = np.repeat(np.exp(rng.normal(0, 0.08, 11)), 14)[:150]
        gone = np.cumsum(truth * table * fortnights)
        opened = [0, *(np.searchsorted(gone, 20.0 * np.arange(1, int(gone[-1] // 20))) + 1)]
        belief = learned(prior(), emptied([Opening(day(int(n)), 20) for n in opened], table, FIRST))
        low, high = belief.interval()
        held += low <= truth <= high
        errors.append(abs(belief.likely / truth - 1))
    assert 0.86 <= held / 1000 <= 0.94
    assert np.median(errors) < 0.025


@pytest.mark.parametrize("kg", [0, -1, float("nan"), float("inf")])
def test_a_bag_of_nothing_is_refused(kg):
    with pytest.raises(ValueError, match="kg must be above 0"):
        Opening(FIRST, kg)
