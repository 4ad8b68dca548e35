"""Feed in store against what the farm's batches eat: how long, what to order by when, what is missing."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from farm.husbandry import rations
from farm.planning.window import Window
from farm.queries import feed as read
from farm.queries import feed_shopping, feed_use, programmes
from farm.services import batches, counts, feed_entries, feeds, weather
from tests.conftest import TODAY, World
from tests.farm.feed_world import bought, day, on, opened, starter


def sheet(world: World, offset: int = 0):
    return read.for_farm(world.farm, day(offset))


def row(world: World, name: str = "Chick starter"):
    return next(each for each in sheet(world).rows if each.feed.name == name)


@pytest.fixture
def browns(world: World):
    """Forty brown layers of two weeks, on starter for four more."""
    return world.add_batch("Browns", housing="Brooder 1")


def test_a_farm_without_feed_is_told_what_nobody_thought_of(world: World, browns):
    found = sheet(world)

    assert found.rows == ()
    assert [(missing.key, missing.from_day) for missing in found.missing] == [
        (("chicken", "starter"), TODAY),
        (("chicken", "grower"), day(42 - 14)),
    ]
    assert found.missing[0].batches == (browns,)


def test_a_duck_starter_does_not_serve_chicks(world: World, browns):
    starter(world, "Duck starter", species=["duck"])

    assert ("chicken", "starter") in [missing.key for missing in sheet(world).missing]


def test_a_feed_of_which_nothing_is_recorded_asks_for_no_order(world: World, browns):
    starter(world)

    assert (row(world).run, row(world).order) == (None, None)
    assert feed_shopping.listed(sheet(world), 56) == []


def test_the_store_runs_out_when_the_tables_and_the_usual_waste_say(world: World, browns):
    bought(world, starter(world), 1)
    ages = 14 + np.arange(60)
    eaten = np.cumsum(40 * rations.feed_g(programmes.of(browns), ages, browns.sex) / 1000 * 1.05)
    about = TODAY + timedelta(days=int(np.argmax(eaten > 25)))

    run = row(world).run

    assert run is not None
    assert abs((run.likely - about).days) <= 1  # a bird or so is reckoned to die
    assert run.early < run.likely < run.late


def test_what_to_order_leaves_days_to_spare_and_falls_on_a_delivery_day(world: World, browns):
    feed = starter(world, delivery_weekdays=[3])
    bought(world, feed, 1)

    found = row(world)

    assert found.order.delivered_on.weekday() == 3
    assert found.order.delivered_on <= min(found.run.early, found.run.likely - timedelta(days=3))
    assert found.order.order_on == found.order.delivered_on - timedelta(days=5)
    first = feed_shopping.listed(sheet(world), 28)[0]
    assert first.order == found.order
    assert first.purchase.bags >= 1


def test_bags_that_last_shorter_than_the_tables_say_teach_the_farms_factor(world: World, browns):
    feed = starter(world)
    bought(world, feed, 9, -13)
    eaten = 40 * rations.feed_g(programmes.of(browns), np.arange(1, 14), browns.sex).sum() / 1000
    feeds.change(world.by, feed_id=feed.pk, expected_version=None, bag_kg=round(eaten * 1.3, 1))
    opened(world, feed, -13, 0)

    found = row(world)

    assert len(found.bags) == 1
    assert found.bags[0].ratio == pytest.approx(1.3, abs=0.08)
    assert 1.05 < found.factor.likely < 1.3


def test_what_is_left_of_the_open_bag_is_reckoned_and_said_when_it_is_empty(world: World, browns):
    feed = starter(world)
    bought(world, feed, 2, -9)
    opened(world, feed, -5)

    found = row(world)

    assert 0 < found.rest_kg < 25
    assert found.unopened_kg == 25
    assert found.empty_on > TODAY


def test_of_two_feeds_that_will_do_the_older_is_eaten_first_and_the_newer_bought(world: World, browns):
    old, new = (starter(world, name, bag_kg=10) for name in ("Old starter", "New starter"))
    bought(world, old, 1, -20, milled_on=day(-25))
    bought(world, new, 1, -2, milled_on=day(-4))

    found = sheet(world)
    first, second = (next(r for r in found.rows if r.feed == each) for each in (old, new))

    assert (first.buys, second.buys) == (False, True)
    assert first.order is None
    days = found.demand.window.days
    eaten = first.table_kg(days)[found.now :].sum() * first.factor.likely
    assert eaten == pytest.approx(10, abs=0.01)
    assert second.run.likely > TODAY + timedelta(
        days=int(np.flatnonzero(first.table_kg(days))[-1] - found.now)
    )


def test_feed_too_old_lasts_for_nobody(world: World, browns):
    feed = starter(world)
    bought(world, feed, 2, -70, milled_on=day(-75))

    found = row(world)

    assert found.heaps[0].keeps_until < TODAY
    assert found.run.likely == TODAY
    assert feed_shopping.listed(sheet(world), 28)[0].purchase.needed_on == TODAY


def test_a_feed_that_keeps_but_a_week_is_bought_often(world: World, browns):
    long, short = starter(world), starter(world, "Fresh", species=["chicken"], keeps_days=7)
    bought(world, short, 1)

    purchases = [each for each in feed_shopping.listed(sheet(world), 14) if each.row.feed == short]

    assert len(purchases) > 5
    assert long not in [each.row.feed for each in purchases]


def test_birds_eat_until_they_leave_and_those_expected_from_the_day_they_come(world: World, browns):
    batches.change(world.by, batch_id=browns.pk, expected_version=None, leaves_on=day(10))
    late = world.add_batch("Late", age=-5, birds=20)
    window = Window(day(-3), 30)

    found = feed_use.of(world.farm, window, TODAY)

    heads = feed_use.heads_by_day(found.batches[browns.pk], window, TODAY)
    assert heads[:4].tolist() == [40] * 4
    assert heads[12] >= 39
    assert not heads[13:].any()
    assert feed_use.heads_by_day(found.batches[late.pk], window, TODAY)[:9].tolist() == [0] * 8 + [20]


def test_the_dead_ate_until_they_died(world: World, browns):
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=10, day=day(-2))
    browns = type(browns).objects.get(pk=browns.pk)

    assert feed_use.heads_by_day(browns, Window(day(-4), 5), TODAY).tolist() == [40, 40, 30, 30, 30]


def test_cold_makes_them_eat_more_once_they_are_off_heat(world: World):
    old = world.add_batch("Old", age=100, housing="Brooder 1")
    window = Window(TODAY, 7)
    before = feed_use.of(world.farm, window, TODAY).by_batch[old.pk]
    cold = {
        "low_mean_c": [-12.0] * 12,
        "low_sd_c": [3.0] * 12,
        "high_mean_c": [-4.0] * 12,
        "high_sd_c": [3.0] * 12,
    }
    weather.enter(world.by, months=cold)

    after = feed_use.of(world.farm, window, TODAY).by_batch[old.pk]

    for key, kg in before.items():
        assert (after[key] > kg * 1.2).all()


def test_the_queries_do_not_grow_with_feeds_and_batches(world: World, browns, django_assert_max_num_queries):
    for number in range(4):
        bought(world, starter(world, f"Feed {number}"), 1)
        world.add_batch(f"Batch {number}")

    with django_assert_max_num_queries(14):
        sheet(world)


def test_another_farms_feed_serves_nobody_here(world: World, elsewhere: World, browns):
    bought(elsewhere, starter(elsewhere), 9)

    assert sheet(world).rows == ()


def test_opening_late_never_moves_the_likely_day_past_what_was_there(world: World, browns):
    feed = starter(world)
    bought(world, feed, 1, -6)
    opened(world, feed, -6)
    before = row(world).run.likely

    feed_entries.buy(on(world, 0), feed_id=feed.pk, kg=10, day=TODAY)

    assert row(world).run.likely > before
