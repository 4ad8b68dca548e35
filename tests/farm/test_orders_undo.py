"""Taking back what was written about orders."""

from __future__ import annotations

import pytest

from farm.errors import BadInput, Stale
from farm.models import Filling, Hold, LineOdds, Order, OrderLine, OrderSeries
from farm.queries import heads, soundness
from farm.services import fillings, history, holds, odds, orders, series
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day, newest
from tests.farm.orders_world import again, give, line, status, take
from tests.farm.test_series_service import weekly


def undo(world: World, entry: object = None) -> None:
    history.undo(world.by, entry_id=(entry or newest()).pk)  # type: ignore[attr-defined]
    assert soundness.problems(world.farm) == []


def test_undoing_an_order_takes_its_lines_and_odds_and_undoing_that_brings_them_back(world: World):
    order = take(world, line(), line(birds=3))
    odds.record_odds(farm_id=world.farm.pk, now=NOON)
    assert LineOdds.objects.count() == 2

    undo(world)
    assert not Order.objects.exists()
    assert not LineOdds.objects.exists()

    undo(world)
    assert sorted(Order.objects.get(pk=order.pk).lines.values_list("birds", flat=True)) == [3, 20]


def test_undoing_a_hand_over_and_undoing_that(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    give(world, order, batch, 20)

    undo(world)
    assert (heads.alive_on(batch, TODAY), status(order)) == (40, "confirmed")
    undo(world)
    batch.refresh_from_db()
    assert (heads.alive_on(batch, TODAY), status(order)) == (20, "filled")
    assert Filling.objects.get().birds == 20


def test_a_hand_over_taken_back_can_be_brought_back_once(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    filling = give(world, order, batch, 20)
    fillings.take_back(world.by, filling_id=filling.pk)
    taken_back = newest()

    undo(world, taken_back)

    assert Filling.objects.get().birds == 20
    with pytest.raises(BadInput):
        history.undo(world.by, entry_id=taken_back.pk)


def test_a_hand_over_does_not_come_back_where_other_birds_took_its_place(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    filling = give(world, order, batch, 15)
    fillings.take_back(world.by, filling_id=filling.pk)
    taken_back = newest()
    give(world, order, batch, 10)

    with pytest.raises(BadInput):
        history.undo(world.by, entry_id=taken_back.pk)
    assert [each.birds for each in Filling.objects.all()] == [10]


def test_an_order_birds_went_to_is_not_undone(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    taken = newest()
    give(world, order, batch, 1)

    with pytest.raises(Stale):
        history.undo(world.by, entry_id=taken.pk)


def test_undoing_a_raised_line_fills_the_order_that_got_the_first_number_meanwhile(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    orders.change(
        world.by, order_id=order.pk, expected_version=None, lines=[again(order.lines.get(), birds=30)]
    )
    raised = newest()
    give(world, order, batch, 20)
    assert status(order) == "confirmed"

    undo(world, raised)

    assert (order.lines.get().birds, status(order)) == (20, "filled")


def test_a_raised_line_more_went_to_stays(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    orders.change(
        world.by, order_id=order.pk, expected_version=None, lines=[again(order.lines.get(), birds=30)]
    )
    raised = newest()
    give(world, order, batch, 25)

    with pytest.raises(BadInput):
        history.undo(world.by, entry_id=raised.pk)


def test_a_batch_with_hand_overs_is_not_undone(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    give(world, order, batch, 1)
    started = batch.pk

    entry = next(e for e in history.HistoryEntry.objects.all() if (e.noun, e.noun_id) == ("batch", started))
    with pytest.raises(Stale):
        history.undo(world.by, entry_id=entry.pk)


def test_undoing_the_end_of_a_series_brings_its_orders_back(world: World):
    made = series.add(world.by, new=weekly())
    was = sorted(OrderLine.objects.values_list("from_on", flat=True))
    series.end(world.by, series_id=made.pk, last_on=day(10), expected_version=None)
    assert Order.objects.count() < len(was)

    undo(world)

    assert sorted(OrderLine.objects.values_list("from_on", flat=True)) == was


def test_undoing_the_removal_of_a_series_joins_its_orders_again(world: World):
    made = series.add(world.by, new=weekly())
    batch = world.add_batch("Browns")
    give(world, made.orders.order_by("series_on")[0], batch, 1)
    series.remove(world.by, series_id=made.pk)
    assert not OrderSeries.objects.exists()

    undo(world)

    assert OrderSeries.objects.get().orders.count() == 5


def test_undoing_a_hold(world: World):
    batch = world.add_batch("Browns")
    hold = holds.add(world.by, batch_id=batch.pk, birds=5)
    holds.change(world.by, hold_id=hold.pk, expected_version=1, birds=6)

    undo(world)
    assert Hold.objects.get().birds == 5
