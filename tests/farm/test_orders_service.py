"""Taking, changing and ending orders."""

from __future__ import annotations

import pytest

from farm.errors import NotAllowed, NotFound, Stale
from farm.models import HistoryEntry, Order, OrderLine
from farm.models.member import Role
from farm.models.order import OrderStatus
from farm.services import orders, programmes
from farm.services.order_fields import MOST_LINES
from farm.services.orders import NewOrder
from tests.conftest import TODAY, World, actor
from tests.farm.judging import day, newest, refused
from tests.farm.orders_world import again, give, line, status, take


def change(world: World, order: Order, **fields: object) -> Order:
    order.refresh_from_db()
    return orders.change(world.by, order_id=order.pk, expected_version=order.version, **fields)


def set_status(world: World, order: Order, wanted: str) -> Order:
    order.refresh_from_db()
    return orders.set_status(world.by, order_id=order.pk, status=wanted, expected_version=order.version)


def test_an_order_is_taken_today_and_is_confirmed(world: World):
    order = take(world, line(birds=40, breed=" Sussex "), line(sex="female"), customer=" Meadow Farm ")

    assert (order.customer, order.status, order.ordered_on) == ("Meadow Farm", "confirmed", TODAY)
    assert [(row.birds, row.breed, row.sex) for row in order.lines.order_by("pk")] == [
        (40, "Sussex", "any"),
        (20, "", "female"),
    ]
    assert newest().summary == "Order of Meadow Farm added"
    assert (newest().noun, newest().noun_id) == ("order", order.pk)


def test_a_line_may_name_a_programme_of_the_farms_own(world: World):
    own = programmes.copy(world.by, source="chicken_layer_brown", name="Our browns")

    order = take(world, line(programme=str(own.pk)))

    assert order.lines.get().programme == own


def test_every_slip_is_told_at_its_own_field_of_its_own_line(world: World):
    wrong = (
        line(),
        line(birds=0, age_from_days=9, age_to_days=8),
        line(from_on=day(7), to_on=day(6), age_to_days=401),
        line(programme="dragon"),
        line(from_on=day(500), to_on=day(501)),
    )

    said = refused(lambda: take(world, *wrong))

    assert set(said) == {
        "lines-1-birds",
        "lines",
        "lines-2-age_to_days",
        "lines-3-programme",
        "lines-4-from_on",
        "lines-4-to_on",
    }
    assert "The oldest age must not be below the youngest." in said["lines"]
    assert "The last day must not be before the first." in said["lines"]
    assert said["lines-4-from_on"] == [
        "13 September 2027 is more than a year away from today. Check the year."
    ]


def test_an_order_for_days_that_have_passed_is_refused(world: World):
    assert refused(lambda: take(world, line(from_on=day(-3), to_on=day(-1)))) == {
        "lines-0-to_on": ["These days have passed. Choose days that are still to come."]
    }


def test_days_that_have_begun_may_still_be_ordered_for(world: World):
    assert take(world, line(from_on=day(-3), to_on=day(0))).lines.get().to_on == TODAY


@pytest.mark.parametrize("many", [0, MOST_LINES + 1])
def test_an_order_has_at_least_one_line_and_not_too_many(world: World, many: int):
    new = NewOrder(customer="Meadow Farm", lines=[line()] * many)

    assert refused(lambda: orders.add(world.by, new=new)) == {"lines": ["An order has 1 to 30 lines."]}


def test_an_order_needs_a_customer_and_begins_as_quote_or_confirmed(world: World):
    assert "customer" in refused(lambda: take(world, customer="  "))
    assert refused(lambda: take(world, status=OrderStatus.FILLED)) == {
        "status": ["A new order is a quote or confirmed."]
    }


def test_only_keepers_take_orders_and_another_farms_are_not_found(world: World, elsewhere: World):
    order, helper = take(world), world.add_member("Hal", Role.HELPER)

    with pytest.raises(NotAllowed):
        orders.add(helper, new=NewOrder(customer="Meadow Farm", lines=[line()]))
    with pytest.raises(NotFound):
        orders.remove(elsewhere.by, order_id=order.pk)


def test_lines_are_changed_added_and_removed_together(world: World):
    order = take(world, line(birds=1), line(birds=2))
    kept, gone = order.lines.order_by("pk")

    change(world, order, lines=[line(birds=7), again(kept, birds=5, to_on=day(9))])

    now = order.lines.order_by("pk")
    assert [(row.birds, row.to_on) for row in now] == [(5, day(9)), (7, day(6))]
    assert now[0].pk == kept.pk
    assert not OrderLine.objects.filter(pk=gone.pk).exists()


def test_a_change_of_nothing_leaves_no_history(world: World):
    order = take(world)
    before = HistoryEntry.objects.count()

    change(world, order, customer="Meadow Farm", lines=[again(order.lines.get())])

    assert HistoryEntry.objects.count() == before


def test_a_form_opened_before_only_a_line_changed_is_stale(world: World):
    order = take(world)
    change(world, order, lines=[again(order.lines.get(), birds=5)])

    with pytest.raises(Stale) as caught:
        orders.change(world.by, order_id=order.pk, expected_version=order.version, notes="By phone")
    assert caught.value.changes == ["Ada: Order of Meadow Farm changed"]


def test_a_line_whose_days_have_passed_may_still_be_changed_otherwise(world: World):
    order = take(world)
    later = actor(world.farm, world.keeper, world.by.now.replace(month=6))
    order.refresh_from_db()

    known = order.lines.get()
    orders.change(later, order_id=order.pk, expected_version=None, lines=[again(known, birds=21)])

    assert order.lines.get().birds == 21


def test_fewer_birds_than_were_handed_over_are_refused(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    give(world, order, batch, 12)
    known = order.lines.get()

    assert refused(lambda: change(world, order, lines=[again(known, birds=11)])) == {
        "lines-0-birds": ["12 birds were handed over already."]
    }
    assert refused(lambda: change(world, order, lines=[again(known, sex="female")])) == {
        "lines-0-programme": ["Birds were handed over for this line. Add a line for other birds."]
    }
    assert refused(lambda: change(world, order, lines=[line()])) == {
        "lines": ["Birds were handed over for a line that is gone. Keep the line, or take them back."]
    }


def test_lowering_a_line_to_what_was_handed_over_fills_the_order_and_raising_it_opens_it(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    give(world, order, batch, 12)

    change(world, order, lines=[again(order.lines.get(), birds=12)])
    assert status(order) == "filled"
    change(world, order, lines=[again(order.lines.get(), birds=13)])
    assert status(order) == "confirmed"


def test_a_line_of_another_order_cannot_be_changed_through_this_one(world: World):
    order, other = take(world), take(world)

    wrong = again(other.lines.get(), birds=1)
    assert list(refused(lambda: change(world, order, lines=[wrong]))) == ["lines"]


def test_a_quote_is_confirmed_then_cancelled_then_taken_up_again(world: World):
    order = take(world, status=OrderStatus.QUOTE)

    for wanted in (OrderStatus.CONFIRMED, OrderStatus.CANCELLED, OrderStatus.CONFIRMED):
        set_status(world, order, wanted)
        assert status(order) == wanted
    assert newest().summary == "Order of Meadow Farm: now confirmed"


def test_enough_closes_an_order_that_lacks_birds_but_not_one_without_any(world: World):
    batch, order = world.add_batch("Browns"), take(world)

    assert refused(lambda: set_status(world, order, OrderStatus.FILLED)) == {
        "status": ["Nothing was handed over yet. Cancel the order if it is off."]
    }
    give(world, order, batch, 5)
    set_status(world, order, OrderStatus.FILLED)
    assert status(order) == "filled"
    change(world, order, notes="Paid")
    assert status(order) == "filled"


def test_a_full_order_cannot_be_opened_and_a_begun_one_is_no_quote(world: World):
    batch, order = world.add_batch("Browns"), take(world)
    give(world, order, batch, 5)
    assert "status" in refused(lambda: set_status(world, order, OrderStatus.QUOTE))

    give(world, order, batch, 15)
    assert "status" in refused(lambda: set_status(world, order, OrderStatus.CONFIRMED))
    assert "status" in refused(lambda: set_status(world, order, OrderStatus.CANCELLED))


def test_only_quotes_are_removed(world: World):
    quote, order = take(world, status=OrderStatus.QUOTE), take(world)

    orders.remove(world.by, order_id=quote.pk)

    assert list(Order.objects.all()) == [order]
    assert refused(lambda: orders.remove(world.by, order_id=order.pk)) == {
        "": ["Only a quote can be removed. Cancel this order instead."]
    }
