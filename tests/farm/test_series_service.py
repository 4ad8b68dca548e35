"""Orders that repeat: made, changed and ended together, but for what somebody changed by itself."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.errors import BadInput, Stale
from farm.models import Order, OrderLine, OrderSeries
from farm.services import orders, programmes, series
from farm.services.series import NewSeries
from tests.conftest import NOON, World, actor, make_world
from tests.farm.judging import day, newest, refused
from tests.farm.orders_world import again, give


def weekly(**fields: Any) -> NewSeries:
    """Return 10 birds every week, five times from in three days."""
    usual = {
        "customer": "Meadow Farm",
        "programme": "chicken_layer_brown",
        "birds": 10,
        "age_from_days": 0,
        "age_to_days": 400,
        "every_weeks": 1,
        "first_on": day(3),
        "last_on": day(31),
    }
    return NewSeries(**{**usual, **fields})


def days_of(made: OrderSeries) -> list[date]:
    return sorted(OrderLine.objects.filter(order__series=made).values_list("from_on", flat=True))


def change(world: World, made: OrderSeries, by: Any = None, **fields: Any) -> OrderSeries:
    return series.change(by or world.by, series_id=made.pk, expected_version=None, **fields)


def test_a_series_has_an_order_for_each_of_its_days(world: World):
    made = series.add(world.by, new=weekly(every_weeks=2, window_days=4))

    assert days_of(made) == [day(3), day(17), day(31)]
    line = OrderLine.objects.order_by("from_on")[0]
    assert (line.to_on, line.birds, line.order.status) == (day(6), 10, "confirmed")
    assert (line.order.series_on, line.order.alone) == (day(3), False)
    assert newest().summary == "Repeating order of Meadow Farm added: 3 orders from 4 May 2026"


def test_a_series_may_follow_a_programme_of_the_farms_own(world: World):
    own = programmes.copy(world.by, source="chicken_layer_brown", name="Our browns")

    made = series.add(world.by, new=weekly(programme=str(own.pk)))

    assert {line.programme for line in OrderLine.objects.all()} == {own}
    change(world, made, birds=7)
    assert {line.programme for line in OrderLine.objects.all()} == {own}


@pytest.mark.parametrize(
    ("fields", "at"),
    [
        ({"first_on": day(-1)}, "first_on"),
        ({"last_on": day(401)}, "last_on"),
        ({"last_on": day(2)}, ""),
        ({"every_weeks": 0}, "every_weeks"),
        ({"window_days": 0}, "window_days"),
        ({"birds": 0}, "birds"),
        ({"programme": "dragon"}, "programme"),
        ({"customer": " "}, "customer"),
        ({"priority": 4}, "priority"),
    ],
)
def test_a_series_that_cannot_be_is_refused_at_its_field(world: World, fields: dict, at: str):
    assert at in refused(lambda: series.add(world.by, new=weekly(**fields)))


def test_a_change_reaches_all_orders_but_those_somebody_settled(world: World):
    made = series.add(world.by, new=weekly())
    alone, off, begun, *others = made.orders.order_by("series_on")
    orders.change(
        world.by, order_id=alone.pk, expected_version=None, lines=[again(alone.lines.get(), birds=11)]
    )
    orders.set_status(world.by, order_id=off.pk, status="cancelled", expected_version=None)
    give(world, begun, world.add_batch("Browns"), 1)

    change(world, made, birds=25, customer="Meadow Barn", priority=1)

    now = {order.pk: (order.lines.get().birds, order.customer) for order in Order.objects.all()}
    assert now == {
        alone.pk: (11, "Meadow Farm"),
        off.pk: (10, "Meadow Farm"),
        begun.pk: (10, "Meadow Farm"),
        **{order.pk: (25, "Meadow Barn") for order in others},
    }


def test_days_that_have_passed_stay_as_they_were(world: World):
    made = series.add(world.by, new=weekly())
    later = actor(world.farm, world.keeper, NOON + timedelta(days=12))

    change(world, made, by=later, birds=25)

    birds = [order.lines.get().birds for order in made.orders.order_by("series_on")]
    assert birds == [10, 10, 25, 25, 25]


def test_another_rhythm_moves_the_orders_and_keeps_one_that_stands_alone(world: World):
    made = series.add(world.by, new=weekly())
    alone = made.orders.get(series_on=day(10))
    orders.change(world.by, order_id=alone.pk, expected_version=None, notes="Call first")

    change(world, made, every_weeks=2)

    assert days_of(made) == [day(3), day(10), day(17), day(31)]


def test_a_cancelled_day_is_not_taken_again(world: World):
    made = series.add(world.by, new=weekly())
    off = made.orders.get(series_on=day(10))
    orders.set_status(world.by, order_id=off.pk, status="cancelled", expected_version=None)

    change(world, made, birds=12)

    assert Order.objects.filter(series=made, series_on=day(10)).get().status == "cancelled"
    assert made.orders.count() == 5


def test_ending_early_and_going_on_longer(world: World):
    made = series.add(world.by, new=weekly())

    series.end(world.by, series_id=made.pk, last_on=day(12), expected_version=1)
    assert days_of(made) == [day(3), day(10)]
    change(world, made, last_on=day(17))
    assert days_of(made) == [day(3), day(10), day(17)]


def test_a_stale_form_changes_nothing(world: World):
    made = series.add(world.by, new=weekly())
    change(world, made, birds=12)

    with pytest.raises(Stale):
        series.change(world.by, series_id=made.pk, expected_version=1, birds=13)


def test_removing_a_series_keeps_what_was_settled_as_orders_by_themselves(world: World):
    made = series.add(world.by, new=weekly())
    begun = made.orders.order_by("series_on")[0]
    give(world, begun, world.add_batch("Browns"), 1)

    series.remove(world.by, series_id=made.pk)

    [kept] = Order.objects.all()
    assert (kept.pk, kept.series, kept.series_on) == (begun.pk, None, None)
    assert not OrderSeries.objects.exists()


def test_a_series_order_is_cancelled_not_removed(world: World):
    made = series.add(world.by, new=weekly())
    quote = made.orders.all()[0]
    orders.set_status(world.by, order_id=quote.pk, status="quote", expected_version=None)

    assert refused(lambda: orders.remove(world.by, order_id=quote.pk)) == {
        "": ["Only a quote can be removed. Cancel this order instead."]
    }


CHANGES = st.fixed_dictionaries(
    {},
    optional={
        "every_weeks": st.integers(1, 4),
        "first_on": st.integers(0, 20).map(day),
        "last_on": st.integers(10, 60).map(day),
        "birds": st.integers(1, 50),
        "window_days": st.integers(1, 9),
    },
)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(changes=st.lists(CHANGES, max_size=4), settled=st.sets(st.integers(0, 4)))
def test_however_a_series_is_changed_it_has_its_days_and_what_was_settled(
    db: None, changes: list[dict[str, Any]], settled: set[int]
):
    with transaction.atomic():
        world = make_world()
        made = series.add(world.by, new=weekly())
        firsts = list(made.orders.order_by("series_on"))
        kept = {firsts[place].series_on for place in settled}
        for place in settled:
            orders.change(world.by, order_id=firsts[place].pk, expected_version=None, notes="Alone")
        for fields in changes:
            try:
                with transaction.atomic():
                    made = change(world, made, **fields)
            except BadInput:
                made.refresh_from_db()
        number = (made.last_on - made.first_on).days // (7 * made.every_weeks) + 1
        wanted = {made.first_on + timedelta(weeks=made.every_weeks * k) for k in range(number)}
        assert set(made.orders.values_list("series_on", flat=True)) == wanted | kept
        for order in made.orders.filter(alone=False):
            line = order.lines.get()
            assert (line.birds, line.from_on) == (made.birds, order.series_on)
            assert (line.to_on - line.from_on).days == made.window_days - 1
        for order in made.orders.filter(alone=True):
            assert (order.lines.get().birds, order.notes) == (10, "Alone")
        transaction.set_rollback(True)
