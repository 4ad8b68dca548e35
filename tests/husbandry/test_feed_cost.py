"""What feed costs: every cent of every lot on some batch, once."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.feeding.cost import Cost, Lot, Meal, costs, meals

FIRST = date(2026, 3, 2)


def day(number):
    return FIRST + timedelta(days=number)


DAYS = st.integers(0, 40).map(day)
LOTS = st.lists(st.builds(Lot, DAYS, st.integers(1, 50_000), st.integers(0, 10_000)), min_size=1, max_size=6)
MEALS = st.lists(st.builds(Meal, DAYS, st.integers(1, 4), st.integers(1, 9_000)), min_size=1, max_size=30)


def test_the_oldest_lot_is_eaten_first_at_its_own_price():
    lots = [Lot(day(5), 1000, 300), Lot(day(0), 1000, 100)]
    found = costs(lots, [Meal(day(1), 1, 1000), Meal(day(2), 2, 1000)], today=day(9))
    assert (found[1], found[2]) == (Cost(to_date=100), Cost(to_date=300))


def test_what_was_eaten_and_what_is_to_come_are_told_apart():
    lots = [Lot(day(0), 1000, 100)]
    found = costs(lots, [Meal(day(1), 1, 400), Meal(day(5), 1, 600)], today=day(5))
    assert found[1] == Cost(to_date=40, to_come=60)


def test_feed_to_come_that_is_not_bought_is_taken_at_the_last_price_and_said_to_be():
    lots = [Lot(day(0), 1000, 100), Lot(day(1), 1000, 200), Lot(day(2), 500, None)]
    found = costs(lots, [Meal(day(9), 1, 4500)], today=day(5))
    assert found[1] == Cost(to_come=100 + 200 + 400, unpriced_g=500, assumed_g=2000)


def test_feed_eaten_beyond_all_that_was_written_down_has_no_price():
    found = costs([Lot(day(0), 1000, 100)], [Meal(day(1), 1, 1500)], today=day(5))
    assert found[1] == Cost(to_date=100, unpriced_g=500)


def test_without_any_price_nothing_is_made_up():
    found = costs([Lot(day(0), 1000, None)], [Meal(day(1), 1, 500), Meal(day(6), 1, 900)], today=day(5))
    assert found[1] == Cost(unpriced_g=1400)


@given(LOTS, MEALS)
def test_no_cent_is_lost_or_made_when_all_is_eaten_up(lots, eaten):
    all_grams = sum(lot.grams for lot in lots)
    rest = max(all_grams - sum(meal.grams for meal in eaten), 0)
    eaten = [*eaten, *([Meal(day(50), 9, rest)] if rest else [])]
    found = costs(lots, eaten, today=day(99))
    assert sum(cost.to_date for cost in found.values()) == sum(lot.cents for lot in lots)
    assert sum(cost.unpriced_g for cost in found.values()) == sum(m.grams for m in eaten) - all_grams


@given(LOTS, MEALS, st.integers(0, 40))
def test_the_day_it_is_looked_at_moves_cost_from_to_come_to_date_and_changes_no_sum_of_what_is_in_store(
    lots, eaten, today
):
    lots = [*lots, Lot(day(40), sum(m.grams for m in eaten), 777)]
    early, late = costs(lots, eaten, day(today)), costs(lots, eaten, day(today + 1))
    for batch, cost in early.items():
        assert cost.to_date + cost.to_come == late[batch].to_date + late[batch].to_come
        assert cost.to_date <= late[batch].to_date


@given(st.lists(st.floats(0, 30), max_size=100).map(np.array))
def test_meals_are_whole_grams_and_add_up_to_all_that_is_used(use):
    found = meals(3, use, FIRST)
    assert abs(sum(meal.grams for meal in found) - 1000 * float(use.sum())) <= 0.51
    assert all(meal.grams > 0 and meal.batch == 3 for meal in found)


@pytest.mark.parametrize("birds, cents", [(2, 50), (3, 33), (8, 13), (0, None)])
def test_a_birds_part_is_a_whole_number_of_cents(birds, cents):
    assert Cost(to_date=60, to_come=40).per_bird(birds) == cents


@pytest.mark.parametrize("grams, cents", [(0, 5), (5, -1)])
def test_a_lot_of_nothing_or_below_no_price_is_refused(grams, cents):
    with pytest.raises(ValueError, match="grams"):
        Lot(FIRST, grams, cents)
