"""Handing birds over, and taking a hand-over back."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.errors import NotAllowed, NotFound
from farm.models import Batch, CountEntry, Filling, Order
from farm.models.member import Role
from farm.models.order import OrderStatus, Priority
from farm.queries import heads, soundness
from farm.services import counts, fillings, holds, orders
from tests.conftest import TODAY, World
from tests.farm.judging import day, newest, refused
from tests.farm.orders_world import give, line, status, take


@pytest.fixture
def browns(world: World) -> Batch:
    """40 brown layer chicks of 14 days."""
    return world.add_batch("Browns")


def left(world: World, order, batch: Batch, birds: int, **fields) -> str:
    """Return what is said of birds that cannot be handed over."""
    said = refused(lambda: give(world, order, batch, birds, **fields))
    assert list(said) == ["birds"]
    return said["birds"][0]


def test_birds_handed_over_leave_the_ledger_as_sold(world: World, browns: Batch):
    filling = give(world, take(world), browns, 12)

    entry = filling.count_entry
    assert (entry.kind, entry.birds, entry.day, entry.member) == ("sold", -12, TODAY, world.keeper)
    assert heads.alive_on(browns, TODAY) == 28
    assert newest().summary == "12 birds of Browns handed over to Meadow Farm"
    assert soundness.problems(world.farm) == []


def test_an_order_is_filled_when_every_line_is(world: World, browns: Batch):
    order = take(world, line(), line(birds=5))
    second = order.lines.order_by("pk")[1]

    give(world, order, browns, 20)
    assert status(order) == "confirmed"
    fillings.hand_over(world.by, line_id=second.pk, batch_id=browns.pk, birds=5, day=TODAY)
    assert status(order) == "filled"


def test_a_helper_hands_over_but_only_a_keeper_does_it_anyway(world: World, browns: Batch):
    helper, order = world.add_member("Hal", Role.HELPER), take(world)
    asked = {"line_id": order.lines.get().pk, "batch_id": browns.pk, "birds": 1, "day": TODAY}

    assert fillings.hand_over(helper, **asked).member == helper.member
    with pytest.raises(NotAllowed):
        fillings.hand_over(helper, **asked, anyway=True)


def test_the_same_hand_over_sent_twice_is_one(world: World, browns: Batch):
    order = take(world)

    first = give(world, order, browns, 3, client_key="phone-1")

    assert give(world, order, browns, 3, client_key="phone-1") == first
    assert CountEntry.objects.filter(kind="sold").count() == 1


def test_no_more_go_than_the_line_still_lacks(world: World, browns: Batch):
    order = take(world)
    give(world, order, browns, 15)

    for birds in (0, 6):
        assert left(world, order, browns, birds) == (
            "Enter a number from 1 to 5: so many are still to be handed over for this line."
        )


def test_no_more_go_than_are_alive_then_and_later(world: World, browns: Batch):
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=30, day=TODAY)
    order = take(world)

    assert left(world, order, browns, 11) == "10 birds of Browns are left."
    assert left(world, order, browns, 11, day=day(-1)) == "10 birds of Browns are left."
    give(world, order, browns, 10, day=day(-1))


def test_held_birds_stay(world: World, browns: Batch):
    holds.add(world.by, batch_id=browns.pk, birds=25)
    order = take(world)

    said = "15 birds of Browns are left (40 alive, the others are held back or meant for orders that come first)."
    assert left(world, order, browns, 16) == said
    assert left(world, order, browns, 16, anyway=True) == said
    give(world, order, browns, 15)


def test_birds_held_of_the_other_sex_do_not_matter_to_a_line_that_names_one(world: World):
    batch = world.add_batch("Hens", sex="sexed_female")
    holds.add(world.by, batch_id=batch.pk, birds=30, sex="female")
    order = take(world, line(sex="female"))

    assert left(world, order, batch, 11).startswith("10 birds of Hens are left")


def test_birds_meant_for_an_order_that_comes_first_stay_unless_the_keeper_says_so(
    world: World, browns: Batch
):
    take(world, line(birds=30), customer="First Farm", priority=Priority.FIRST)
    order = take(world)

    assert left(world, order, browns, 11) == (
        "10 birds of Browns are left (40 alive, the others are held back or meant for orders that come first)."
    )
    give(world, order, browns, 10)
    give(world, order, browns, 10, anyway=True)
    assert status(order) == "filled"


def test_orders_that_come_later_keep_nothing_from_one_that_comes_first(world: World, browns: Batch):
    order = take(world, line(birds=40), priority=Priority.FIRST)
    take(world, line(birds=40))

    give(world, order, browns, 40)

    assert status(order) == "filled"


@pytest.mark.parametrize(
    ("wanted", "had"),
    [
        ({"programme": "chicken_meat"}, {}),
        ({"programme": "duck"}, {}),
        ({"breed": "Sussex"}, {"breed": "Maran"}),
        ({"breed": "Sussex"}, {}),
        ({"sex": "female"}, {"sex": "sexed_male"}),
    ],
)
def test_other_birds_than_ordered_are_refused(world: World, wanted: dict, had: dict):
    batch, order = world.add_batch("Others", **had), take(world, line(**wanted))

    assert list(refused(lambda: give(world, order, batch, 1))) == ["batch_id"]


def test_a_breed_is_the_same_in_capital_letters(world: World):
    batch, order = world.add_batch("Light", breed="SUSSEX"), take(world, line(breed="sussex"))

    assert give(world, order, batch, 1).batch == batch


def test_a_quote_a_cancelled_and_a_full_order_get_nothing(world: World, browns: Batch):
    quote, off, full = take(world, status=OrderStatus.QUOTE), take(world), take(world, line(birds=1))
    orders.set_status(world.by, order_id=off.pk, status="cancelled", expected_version=None)
    give(world, full, browns, 1)

    for order, said in (
        (quote, "This order is only a quote. Confirm it first."),
        (off, "This order is cancelled. Open it again first."),
        (full, "This order is filled. Open it again first."),
    ):
        assert refused(lambda order=order: give(world, order, browns, 1)) == {"line_id": [said]}


def test_neither_tomorrow_nor_before_they_came(world: World, browns: Batch):
    order = take(world)

    assert list(refused(lambda: give(world, order, browns, 1, day=day(1)))) == ["day"]
    before = browns.arrived_on - timedelta(days=1)
    assert refused(lambda: give(world, order, browns, 1, day=before)) == {
        "day": ["The batch only arrives on 17 April 2026."]
    }


def test_birds_only_expected_are_not_here_to_be_handed_over(world: World, browns: Batch):
    order = take(world)
    Batch.objects.filter(pk=browns.pk).update(expected=True)

    assert refused(lambda: give(world, order, browns, 1)) == {"batch_id": ["Record the arrival first."]}


def test_another_farms_lines_and_batches_are_not_found(world: World, elsewhere: World, browns: Batch):
    order, theirs = take(world), elsewhere.add_batch("Theirs")

    with pytest.raises(NotFound):
        give(world, order, theirs, 1)
    with pytest.raises(NotFound):
        give(elsewhere, order, theirs, 1)


def test_taking_back_returns_the_birds_and_opens_the_order(world: World, browns: Batch):
    order = take(world)
    filling = give(world, order, browns, 20)

    fillings.take_back(world.by, filling_id=filling.pk)

    assert not Filling.objects.exists()
    assert (heads.alive_on(browns, TODAY), status(order)) == (40, "confirmed")
    assert newest().summary == "Taken back: 20 birds of Browns handed over to Meadow Farm"
    assert soundness.problems(world.farm) == []


def test_taking_the_sale_off_the_ledger_takes_the_hand_over_back_too(world: World, browns: Batch):
    order = take(world)
    filling = give(world, order, browns, 20)

    counts.reverse(world.by, entry_id=filling.count_entry_id)

    assert not Filling.objects.exists()
    assert status(order) == "confirmed"


def test_a_sale_without_an_order_is_taken_back_as_ever(world: World, browns: Batch):
    order = take(world)
    give(world, order, browns, 5)
    sold = counts.add(world.by, batch_id=browns.pk, kind="sold", birds=5, day=TODAY)

    counts.reverse(world.by, entry_id=sold.pk)

    assert [filling.birds for filling in Filling.objects.all()] == [5]


def test_cancelling_keeps_what_was_handed_over(world: World, browns: Batch):
    order = take(world)
    filling = give(world, order, browns, 5)

    orders.set_status(world.by, order_id=order.pk, status="cancelled", expected_version=None)

    assert list(Filling.objects.all()) == [filling]
    fillings.take_back(world.by, filling_id=filling.pk)
    assert status(order) == "cancelled"


def test_a_death_after_the_hand_over_is_counted_as_ever(world: World, browns: Batch):
    give(world, take(world), browns, 20)

    counts.add(world.by, batch_id=browns.pk, kind="died", birds=20, day=TODAY)

    assert heads.alive_on(browns, TODAY) == 0


def test_records_that_disagree_are_found(world: World, browns: Batch):
    order = take(world)
    filling = give(world, order, browns, 20)
    Filling.objects.filter(pk=filling.pk).update(birds=19)
    Order.objects.filter(pk=order.pk).update(status="confirmed")
    assert soundness.problems(world.farm) == [f"hand-over {filling.pk} is not in the ledger as it says"]

    Filling.objects.filter(pk=filling.pk).update(birds=20)
    assert soundness.problems(world.farm) == [f"order {order.pk} has all its birds and is not filled"]
