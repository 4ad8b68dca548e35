"""Orders and allotments as pages read them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.errors import NotFound
from farm.models import OrderingRules
from farm.planning.window import Window
from farm.queries import allotments, orders
from farm.services import counts, holds, odds, series
from farm.services import orders as service
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day
from tests.farm.orders_world import give, line, take
from tests.farm.test_series_service import weekly


def row(world: World, order: object, today=TODAY) -> orders.OrderRow:
    return orders.one(world.farm, order.pk, today)  # type: ignore[attr-defined]


def test_a_line_says_what_went_what_is_meant_and_what_is_left(world: World):
    batch = world.add_batch("Browns")
    order = take(world, line(birds=12))
    filling = give(world, order, batch, 5)

    [found] = row(world, order).lines

    assert (found.given, found.left, found.fillings, found.overdue) == (5, 7, (filling,), False)
    assert [(meant.batch, meant.birds, meant.day) for meant in found.meant] == [(batch, 7, day(3))]
    assert found.odds is not None
    assert (found.odds.allotted, found.warning) == (7, None)
    assert (row(world, order).left, row(world, order).first_on) == (7, day(3))


def test_a_line_no_birds_can_meet_says_why(world: World):
    world.add_batch("Browns")
    order = take(world, line(age_from_days=120, age_to_days=130))

    [found] = row(world, order).lines

    assert found.odds is not None
    assert (found.odds.short, found.odds.chance) == (20, 0)
    assert str(found.warning) == "No birds of this type reach 120 days between 4 May and 7 May."


def test_a_line_whose_days_have_passed_is_overdue_until_filled_or_cancelled(world: World):
    world.add_batch("Browns")
    order = take(world)

    assert not row(world, order, day(6)).lines[0].overdue
    assert row(world, order, day(7)).lines[0].overdue
    service.set_status(world.by, order_id=order.pk, status="cancelled", expected_version=None)
    assert not row(world, order, day(7)).lines[0].overdue


def test_a_quote_has_no_birds_but_its_page_says_what_it_would_get(world: World):
    world.add_batch("Browns")
    quote, other = take(world, status="quote", priority=1), take(world, line(birds=25))

    [listed, _other] = orders.listing(world.farm, TODAY)
    assert (listed.order, listed.chance, listed.left, listed.lines[0].meant) == (quote, None, 20, ())

    odds_of_line = row(world, quote).lines[0].odds
    assert odds_of_line is not None
    assert odds_of_line.allotted == 20
    kept = row(world, other).lines[0].odds
    assert kept is not None
    assert kept.allotted == 25


def test_an_order_that_is_over_has_no_odds(world: World):
    batch = world.add_batch("Browns")
    order = take(world, line(birds=1))
    give(world, order, batch, 1)

    found = row(world, order)

    assert (found.lines[0].odds, found.chance, found.left) == (None, None, 0)


def test_a_line_that_names_a_breed_gets_birds_of_no_other(world: World):
    maran = world.add_batch("Marans", breed="Maran", birds=10)
    world.add_batch("Others", birds=40)
    order = take(world, line(breed="maran"), line(breed="Sussex"))

    first, second = row(world, order).lines

    assert [(meant.batch, meant.birds) for meant in first.meant] == [(maran, 9)]
    assert str(second.warning) == "No batch of this type is of the breed asked for."


def test_the_list_is_by_first_day_then_priority_and_leaves_out_what_is_over(world: World):
    world.add_batch("Browns")
    late = take(world, line(from_on=day(9), to_on=day(9)))
    usual, first = take(world), take(world, priority=1)
    off = take(world)
    service.set_status(world.by, order_id=off.pk, status="cancelled", expected_version=None)

    assert [each.order for each in orders.listing(world.farm, TODAY)] == [first, usual, late]
    assert [each.order for each in orders.listing(world.farm, TODAY, ["cancelled"])] == [off]


def test_the_least_sure_line_is_how_sure_an_order_is(world: World):
    world.add_batch("Browns", birds=25)
    order = take(world, line(birds=20), line(birds=20))

    found = row(world, order)

    assert found.chance == min(each.odds.chance for each in found.lines if each.odds)


def test_a_long_list_takes_as_many_queries_as_a_short_one(world: World):
    batch = world.add_batch("Browns")

    def asked() -> int:
        with CaptureQueriesContext(connection) as found:
            for each in orders.listing(world.farm, TODAY):
                [filling.batch.name for row in each.lines for filling in row.fillings]
        return len(found)

    give(world, take(world), batch, 1)
    few = asked()
    for _ in range(3):
        give(world, take(world, line(), line()), batch, 1, anyway=True)
    assert asked() == few


def test_batches_a_line_could_be_filled_from_come_with_how_many(world: World):
    browns, whites = world.add_batch("Browns"), world.add_batch("Whites", birds=30)
    world.add_batch("Ducks", programme="duck")
    world.add_batch("Tomorrow's", hatch_day=day(1))
    holds.add(world.by, batch_id=browns.pk, birds=35)
    order = take(world)

    found = orders.candidates(order.lines.get(), TODAY)
    assert [(one.batch, one.alive, one.free, one.meant) for one in found] == [
        (whites, 30, 30, 20),
        (browns, 40, 5, 0),
    ]
    give(world, order, whites, 20)
    assert [one.meant for one in orders.candidates(order.lines.get(), TODAY)] == [0, 0]


def test_a_line_only_thought_of_is_judged_among_the_others_and_nothing_is_kept(world: World):
    world.add_batch("Browns", age=200)
    known = take(world, line(birds=30)).lines.get()
    thought = replace(allotments.for_farm(world.farm, TODAY).wanted[known.pk], key="new", birds=25)

    beside = allotments.trial(world.farm, TODAY, [thought])
    instead = allotments.trial(world.farm, TODAY, [thought], without=[known.pk])

    assert beside.odds(known.pk).allotted == 30
    assert beside.allotment.lines["new"].allotted < 15
    assert (instead.odds(known.pk), instead.allotment.lines["new"].allotted) == (None, 25)
    assert set(allotments.for_farm(world.farm, TODAY).allotment.lines) == {str(known.pk)}


def test_how_a_line_went_is_told_by_day(world: World):
    world.add_batch("Browns")
    order = take(world)
    for ahead in (1, 0):
        odds.record_odds(farm_id=world.farm.pk, now=NOON + timedelta(days=ahead))

    assert [each.day for each in orders.went(order.lines.get())] == [TODAY, day(1)]


def test_series_and_customers_are_listed(world: World):
    series.add(world.by, new=weekly(customer="bea"))
    take(world, customer="Ada")
    take(world, customer="Ada")

    [found] = orders.series(world.farm, day(11))

    assert [order.series_on for order in found.orders] == [day(3 + 7 * k) for k in range(5)]
    assert found.coming == 3
    assert orders.customers(world.farm) == [orders.Customer("Ada", 2), orders.Customer("bea", 5)]


def test_another_farms_order_is_not_found(world: World, elsewhere: World):
    order = take(elsewhere)

    with pytest.raises(NotFound):
        orders.one(world.farm, order.pk, TODAY)


def test_an_allotment_follows_every_change_although_it_is_remembered(world: World):
    batch = world.add_batch("Browns", birds=20)
    order = take(world)
    key = order.lines.get().pk

    def allotted() -> int:
        found = allotments.for_farm(world.farm, TODAY).odds(key)
        return found.allotted if found else 0

    assert allotted() == 19  # one may be lost by then
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=5, day=TODAY)
    assert allotted() == 14
    assert (
        allotments.for_farm(world.farm, TODAY).allotment is allotments.for_farm(world.farm, TODAY).allotment
    )


def test_promised_and_spare_add_up_to_a_batch(world: World):
    batch = world.add_batch("Browns")
    take(world, line(from_on=TODAY, to_on=TODAY))

    found = allotments.for_farm(world.farm, TODAY)

    assert found.promised(batch.pk) == 20
    spare = found.spare(batch.pk)
    assert spare is not None
    assert (spare.expected, spare.sure) == (20, 20)
    assert found.spare(10**9) is None


def test_a_farm_may_want_to_be_surer_than_usual(world: World):
    batch = world.add_batch("Browns", hatch_day=day(5))
    usual = allotments.for_farm(world.farm, TODAY).spare(batch.pk)
    assert allotments.confidence(world.farm) == 0.9

    OrderingRules.objects.create(farm=world.farm, confidence=0.99)

    assert allotments.confidence(world.farm) == 0.99
    surer = allotments.for_farm(world.farm, TODAY).spare(batch.pk)
    assert usual is not None
    assert surer is not None
    assert surer.sure <= usual.sure


def test_the_days_of_a_week_say_what_is_promised(world: World):
    world.add_batch("Browns")
    take(world)

    by_day = {
        each.day: each for each in allotments.for_farm(world.farm, TODAY).allotment.by_day(Window(TODAY, 7))
    }

    assert (by_day[day(3)].promised, by_day[day(3)].short) == (20, 0)
    assert sum(each.promised for each in by_day.values()) == 20
