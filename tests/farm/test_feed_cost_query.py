"""What feed costs a batch: every cent of what is eaten up lands on somebody, once."""

from __future__ import annotations

import pytest

from farm.queries import feed, feed_cost
from farm.services import batches, feed_entries
from tests.conftest import TODAY, World
from tests.farm.feed_world import bought, day, opened, starter


@pytest.fixture
def browns(world: World):
    return world.add_batch("Browns", housing="Brooder 1")


def test_bags_eaten_up_by_one_batch_cost_it_what_they_cost(world: World, browns):
    stock = starter(world, bag_kg=5)
    bought(world, stock, 1, -12, price_cents=777)
    bought(world, stock, 9, -12, price_cents=9000)
    opened(world, stock, -12, -6)

    found = feed_cost.of(browns, TODAY)

    assert found.eaten_kg > 5
    later = round(1000 * (found.eaten_kg - 5)) * 9000 // 45_000
    assert found.cost.to_date == pytest.approx(777 + later, abs=1)
    assert found.since == day(-12)


def test_two_batches_share_a_bag_by_what_they_eat(world: World, browns):
    twins = world.add_batch("Twins", birds=80)
    stock = starter(world)
    bought(world, stock, 4, -8, price_cents=8000)
    opened(world, stock, -8)

    one, other = (feed_cost.of(each, TODAY).cost.to_date for each in (browns, twins))

    assert other == pytest.approx(2 * one, abs=2)


def test_what_spoiled_is_nobodys_meal(world: World, browns):
    stock = starter(world)
    bought(world, stock, 2, -8, price_cents=5000)
    opened(world, stock, -8)
    before = feed_cost.of(browns, TODAY).cost
    feed_entries.spoil(world.by, feed_id=stock.pk, day=TODAY, kg=20)

    after = feed_cost.of(browns, TODAY).cost

    assert after.to_date == before.to_date
    assert after.assumed_g > before.assumed_g


def test_feed_without_a_price_is_told_apart(world: World, browns):
    bought(world, starter(world), 9, -5)

    found = feed_cost.of(browns, TODAY)

    assert not found.known
    assert found.cost.unpriced_g == pytest.approx(1000 * (found.eaten_kg + found.coming_kg), abs=2)


def test_what_is_to_come_ends_when_they_leave(world: World, browns):
    bought(world, starter(world), 9, -5, price_cents=9000)
    longer = feed_cost.of(browns, TODAY).cost.to_come
    batches.change(world.by, batch_id=browns.pk, expected_version=None, leaves_on=day(7))
    browns.refresh_from_db()

    found = feed_cost.of(browns, TODAY)

    assert found.until == day(7)
    assert 0 < found.cost.to_come < longer


def test_a_line_taken_back_costs_nothing(world: World, browns):
    stock = starter(world)
    line = bought(world, stock, 1, -5, price_cents=9000)
    feed_entries.reverse(world.by, entry_id=line.pk)

    assert not feed_cost.of(browns, TODAY).known


def test_a_batch_that_is_only_expected_has_cost_nothing_so_far(world: World):
    late = world.add_batch("Late", age=-9)
    bought(world, starter(world), 2, -3, price_cents=5000)

    found = feed_cost.of(late, TODAY)

    assert (found.since, found.cost.to_date) == (None, 0)
    assert found.cost.to_come > 0


def test_the_money_of_all_batches_is_the_money_of_the_bags_that_are_gone(world: World, browns):
    others = [world.add_batch(f"More {number}", birds=birds) for number, birds in enumerate((13, 57, 120))]
    stock = starter(world)
    bought(world, stock, 5, -10, price_cents=9991)
    opened(world, stock, -10, -8, -6, -4, -2)
    for batch in (browns, *others):
        batches.change(world.by, batch_id=batch.pk, expected_version=None, leaves_on=day(60))
        batch.refresh_from_db()

    costs = [feed_cost.of(batch, TODAY).cost for batch in (browns, *others)]

    eaten = feed.for_farm(world.farm, TODAY).rows[0]
    assert eaten.unopened_kg == 0
    bought_up = sum(cost.to_date + cost.to_come for cost in costs)
    assumed = sum(cost.assumed_g for cost in costs)
    assert bought_up - assumed * 9991 // 125_000 == pytest.approx(9991, abs=4)
