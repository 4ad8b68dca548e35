"""What feed and light ask of a farm's agenda."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.models import Housing
from farm.planning.window import Window
from farm.queries import agenda, feed
from farm.services import chores, feed_entries, housings
from tests.conftest import TODAY, World
from tests.farm.feed_world import bought, day, on, opened, starter


@pytest.fixture
def browns(world: World):
    return world.add_batch("Browns", housing="Brooder 1")


def asked(world: World, job: str, start: int = 0, days: int = 60, today: int = 0):
    found = agenda.for_farm(world.farm, Window(day(start), days), day(today))
    return [item for item in found if item.job == job]


def tick(world: World, item):
    chores.mark(world.by, source=item.source, due=item.due, round=item.round, title="Ordered")


def test_feed_is_to_be_ordered_on_the_day_its_page_says(world: World, browns):
    bought(world, starter(world), 1)
    row = feed.for_farm(world.farm, TODAY).rows[0]

    (item,) = asked(world, "order_feed")

    assert item.due == row.order.order_on
    assert str(item.title) == "Order Chick starter"


def test_an_order_that_is_late_is_asked_for_today_and_stays_asked_for(world: World, browns):
    feed_entries.buy(world.by, feed_id=starter(world).pk, kg=3, day=TODAY)

    assert [item.due for item in asked(world, "order_feed")] == [TODAY]
    assert [
        due.item.job for due in agenda.on_day(world.farm, day(1), TODAY).before if due.item.open_ended
    ] == ["order_feed"]


def test_an_order_ticked_is_not_asked_for_again_until_feed_came(world: World, browns):
    stock = starter(world)
    bought(world, stock, 1, -9)
    (item,) = asked(world, "order_feed", today=0)
    late = min(item.due, day(5))
    chores.mark(on(world, 5), source=item.source, due=item.due, round=item.round, title="Ordered")
    opened(world, stock, -4)

    (again,) = asked(world, "order_feed")
    assert again.occurrence == item.occurrence
    assert late <= item.due

    bought(world, stock, 1)
    assert item.source not in [each.source for each in asked(world, "order_feed")]


def test_feed_that_will_be_old_before_it_is_opened_is_to_be_used_first(world: World, browns):
    small, large = starter(world, "Small"), starter(world, "Large", species=["chicken"], kind="grower")
    bought(world, small, 1, milled_on=day(-5))
    bought(world, large, 40, milled_on=day(-5))

    (item,) = asked(world, "check_feed")

    assert str(item.title) == "Use up Large that is getting old"
    assert (item.due, item.until) == (day(-5 + 45), day(-5 + 60))


def lit(world: World, light: str = "open") -> None:
    world.farm.latitude, world.farm.longitude = 52.0, 10.0
    world.farm.save()
    home = Housing.objects.get(name="Brooder 1")
    housings.change(world.by, housing_id=home.pk, expected_version=None, light=light)


def test_timers_are_set_week_by_week_where_a_housing_has_a_light_programme(world: World, browns):
    assert asked(world, "set_light") == []
    lit(world)

    found = asked(world, "set_light")

    assert len(found) > 3
    assert {item.room_name for item in found} == {"Brooder 1"}
    assert {(item.due - browns.hatch_day).days % 7 for item in found} == {0}
    assert "Lamps on at" in str(found[0].title)


def test_a_day_says_the_same_of_the_lamps_in_every_window(world: World, browns):
    lit(world)
    whole = asked(world, "set_light", start=-10, days=80)

    for start in range(-3, 20, 4):
        part = asked(world, "set_light", start=start, days=9)
        assert part == [item for item in whole if day(start) <= item.due < day(start + 9)]


def test_a_closed_house_whose_hours_stay_asks_for_nothing_each_week(world: World):
    world.add_batch("Ducks", programme="duck", age=40, housing="Brooder 1")
    lit(world, "closed")
    weeks = 60 // 7

    assert len(asked(world, "set_light")) <= weeks + 1


def test_a_farm_without_a_place_sets_no_timers(world: World, browns):
    home = Housing.objects.get(name="Brooder 1")
    housings.change(world.by, housing_id=home.pk, expected_version=None, light="open")

    assert asked(world, "set_light") == []


def test_an_errand_ticked_stands_as_done_on_its_day(world: World, browns):
    lit(world)
    item = asked(world, "set_light")[0]
    early = (item.due - TODAY) > timedelta(days=7)
    assert not early

    tick(world, item)

    found = agenda.find(world.farm, item.source, item.due, item.round, TODAY)
    assert found is not None
    assert not found.open
