"""A customer's name leaves everything that was ever written down."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.apps import apps

from calendars import editions, services
from farm.errors import NotAllowed, Stale
from farm.models import HistoryEntry, Order, OrderSeries, SettingProposal
from farm.models.member import Role
from farm.services import chores, counts, customers, fillings, history, holds, orders, series
from farm.web.history import lines as lines_
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import newest, refused
from tests.farm.orders_world import give, line, take
from tests.farm.test_series_service import weekly

NAME = "Jo Miller"


def told(name: str) -> list[str]:
    """Return every table that says the name anywhere, of the farm's records and the calendars'."""
    models = [*apps.get_app_config("farm").get_models(), *apps.get_app_config("calendars").get_models()]
    return sorted(
        {
            model.__name__
            for model in models
            for row in model._default_manager.values_list()
            if any(name in str(bytes(value) if isinstance(value, memoryview) else value) for value in row)
        }
    )


@pytest.fixture
def known(world: World) -> Order:
    """An order of Jo Miller with all that can tell of it: a series, ticks, hand-overs, calendars and a proposal."""
    batch = world.add_batch("Browns", housing="Brooder 1")
    order = take(world, line(from_on=TODAY), customer=NAME, notes=f"{NAME} calls first", deposit=f"{NAME}: 5")
    series.add(world.by, new=weekly(customer=NAME))
    services.build(editions.Edition(world.farm, None, "en"), NOON)
    title = f"Hand over 20 birds to {NAME}: Brown layer chicken"
    source = f"line:{order.lines.get().pk}/hand_over"
    chores.mark(world.by, source=source, due=TODAY, round="morning", title=title, note=f"{NAME} was late")
    filling = give(world, order, batch, 3)
    fillings.take_back(world.by, filling_id=filling.pk)
    history.undo(world.by, entry_id=newest().pk)
    counts.add(world.by, batch_id=batch.pk, kind="sold", birds=1, day=TODAY, note=f"to {NAME} at the gate")
    holds.add(world.by, batch_id=batch.pk, birds=2, reason=f"for {NAME}")
    services.build(editions.Edition(world.farm, None, "en"), NOON + timedelta(hours=1))
    orders.set_status(world.by, order_id=order.pk, status="cancelled", expected_version=None)
    SettingProposal.objects.create(
        farm=world.farm,
        code="p1",
        content={"sets": [{"lines": [f"20 for {NAME}"]}]},
        farm_version=1,
        made_at=NOON,
    )
    return order


def test_after_forgetting_the_name_is_nowhere(world: World, known: Order):
    assert {"Order", "OrderSeries", "Hold", "CountEntry", "ChoreMark", "SettingProposal"} <= set(told(NAME))
    assert {"Change", "HistoryEntry", "EntryVersion"} <= set(told(NAME))

    code = customers.forget(world.by, customer=" jo miller ")

    assert code == "customer 1"
    assert told(NAME) == []
    known.refresh_from_db()
    assert (known.customer, known.notes) == ("customer 1", "customer 1 calls first")
    assert OrderSeries.objects.get().customer == "customer 1"
    assert SettingProposal.objects.get().content == {"sets": [{"lines": ["20 for customer 1"]}]}
    services.build(editions.Edition(world.farm, None, "en"), NOON + timedelta(hours=2))
    assert told(NAME) == []


def test_forgetting_is_in_the_history_and_cannot_be_undone(world: World, known: Order):
    customers.forget(world.by, customer=NAME)

    assert newest().summary == "A customer's name was replaced by customer 1"
    assert not history.can_undo(newest())
    [line] = lines_.lines(world.farm, [newest()])
    assert (line.things[0].name, line.can_undo, line.page) == ("customer 1", False, "")
    assert list(refused(lambda: history.undo(world.by, entry_id=newest().pk))) == [""]


def test_what_came_before_can_still_be_undone_without_bringing_the_name_back(world: World, known: Order):
    cancelled = newest()

    customers.forget(world.by, customer=NAME)
    history.undo(world.by, entry_id=cancelled.pk)

    known.refresh_from_db()
    assert (known.status, known.customer) == ("confirmed", "customer 1")


def test_other_names_and_words_that_only_hold_the_name_stay(world: World):
    take(world, customer="Ann")
    other = take(world, customer="Anna Ann-Marie", notes="Annabel (Ann)")

    customers.forget(world.by, customer="Ann")

    other.refresh_from_db()
    assert (other.customer, other.notes) == ("Anna Ann-Marie", "Annabel (customer 1)")
    assert HistoryEntry.objects.filter(summary="Order of Anna Ann-Marie added").exists()


def test_each_customer_gets_a_number_of_its_own(world: World):
    take(world, customer="Ann")
    take(world, customer="Bob")

    assert [customers.forget(world.by, customer=name) for name in ("Bob", "Ann")] == [
        "customer 1",
        "customer 2",
    ]


def test_a_name_an_order_only_once_had_is_forgotten_too(world: World):
    order = take(world, customer="Ann")
    orders.change(world.by, order_id=order.pk, expected_version=None, customer="Bob")

    customers.forget(world.by, customer="Ann")

    assert told("Ann") == []


def test_a_form_open_meanwhile_cannot_bring_the_name_back(world: World):
    order = take(world, customer="Ann")
    customers.forget(world.by, customer="Ann")

    with pytest.raises(Stale):
        orders.change(world.by, order_id=order.pk, expected_version=order.version, customer="Ann")


def test_only_keepers_forget_and_only_their_own_farms_names(world: World, elsewhere: World):
    take(world, customer="Ann")
    take(elsewhere, customer="Bob")
    entries = HistoryEntry.objects.filter(farm=elsewhere.farm).count()

    with pytest.raises(NotAllowed):
        customers.forget(world.add_member("Hal", Role.HELPER), customer="Ann")
    assert list(refused(lambda: customers.forget(world.by, customer="Bob"))) == ["customer"]
    customers.forget(world.by, customer="Ann")
    assert "Order" in told("Bob")
    assert HistoryEntry.objects.filter(farm=elsewhere.farm).count() == entries
