"""The shopping list: enough for every bird every day, in whole bags, and nothing bought to grow old."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.feeding.shopping import Store, shopping

FIRST = date(2026, 3, 2)
USE = st.lists(st.floats(0, 5), min_size=1, max_size=150).map(np.array)
STORES = st.lists(
    st.builds(Store, st.floats(0, 60), st.integers(-5, 90).map(lambda n: FIRST + timedelta(days=n))),
    max_size=4,
)


def day(number):
    return FIRST + timedelta(days=number)


def test_what_is_in_store_is_eaten_before_anything_is_bought():
    (bought,) = shopping(np.full(20, 2.0), FIRST, [Store(30, day(60))], 20)
    assert (bought.needed_on, bought.bags, bought.left_kg) == (day(15), 1, 10)
    assert str(bought.words) == "1 bag of 20.0 kg by 17 March, eaten until 21 March"


def test_a_full_store_needs_nothing():
    assert shopping(np.full(20, 2.0), FIRST, [Store(40, day(60))], 20) == ()
    assert shopping(np.zeros(20), FIRST, [], 20) == ()


def test_feed_that_is_too_old_does_not_count_as_feed():
    (bought,) = shopping(np.full(10, 2.0), FIRST, [Store(100, day(4))], 20)
    assert (bought.needed_on, bought.bags) == (day(4), 1)


def test_no_more_is_bought_than_is_eaten_before_it_is_too_old_and_it_says_so():
    first, second = shopping(np.full(80, 1.0), FIRST, [], 10, age_days=10)
    assert (first.bags, first.fed_until, first.capped) == (5, day(49), True)
    assert (second.needed_on, second.bags, second.capped) == (day(50), 3, False)
    assert "no more: after 20 April they would be too old" in str(first.words)


def test_what_is_left_over_for_good_is_said_and_what_is_eaten_later_is_not():
    changed = np.concatenate((np.full(12, 2.0), np.zeros(10)))  # then they are on another feed
    (bought,) = shopping(changed, FIRST, [], 20)
    assert (bought.bags, bought.capped, bought.ends) == (2, False, True)
    assert str(bought.left_words) == "About 16 kg will be left over: is there a smaller bag?"
    (going_on,) = shopping(changed[:12], FIRST, [], 20)
    assert going_on.left_words is None
    assert shopping(np.full(10, 2.0), FIRST, [], 20)[0].left_words is None


def test_feed_nobody_eats_later_is_not_called_too_old_for_it():
    once = np.concatenate((np.full(5, 2.0), np.zeros(90)))
    (bought,) = shopping(once, FIRST, [], 10)
    assert not bought.capped


def test_a_warm_store_is_filled_less_at_a_time():
    cool, warm = (shopping(np.full(50, 1.0), FIRST, [], 5, mean_c=c) for c in (15, 28))
    assert [len(cool), len(warm)] == [1, 3]


@given(USE, STORES, st.floats(0.5, 30), st.integers(0, 40))
def test_every_bird_is_fed_every_day_and_no_bag_is_bought_to_grow_old(use, stores, bag_kg, age):
    bought = shopping(use, FIRST, stores, bag_kg, age_days=age)
    fresh_days = 60 - age
    heaps = [[store.old_on, store.kg] for store in stores]
    for number, kg in enumerate(use):
        today = day(number)
        heaps += [[today + timedelta(days=fresh_days), p.kg] for p in bought if p.needed_on == today]
        need = float(kg)
        for heap in sorted(heaps):
            if heap[0] > today:
                eaten = min(heap[1], need)
                heap[1] -= eaten
                need -= eaten
        assert need < 1e-6
    for each in bought:
        start = (each.needed_on - FIRST).days
        could_eat = use[start : start + fresh_days].sum()
        assert (each.bags - 1) * bag_kg < could_eat + 1e-6
        assert each.left_kg < bag_kg + 1e-6
        assert each.fed_until < each.needed_on + timedelta(days=fresh_days)


@given(USE, st.floats(0.5, 30))
def test_one_purchase_within_its_keeping_is_the_fewest_bags_that_do(use, bag_kg):
    use = use[:50]
    kg = sum(each.kg for each in shopping(use, FIRST, [], bag_kg, age_days=0))
    assert use.sum() - 1e-6 <= kg < use.sum() + bag_kg + 1e-6


@pytest.mark.parametrize("bag_kg, age", [(0, 7), (-20, 7), (20, 60), (20, -1)])
def test_bags_of_nothing_and_feed_that_comes_too_old_are_refused(bag_kg, age):
    with pytest.raises(ValueError, match="needs a bag"):
        shopping(np.ones(3), FIRST, [], bag_kg, age_days=age)
