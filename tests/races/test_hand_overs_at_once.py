"""Two people hand birds of one batch over at the same moment, on real connections."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from threading import Barrier, BrokenBarrierError
from typing import Any

import pytest
from django.db import connection

from farm.errors import BadInput, FarmError
from farm.models import Batch, Farm, Filling, Order
from farm.queries import heads, soundness
from farm.services import counts, fillings, hand_over_rules, locks, orders
from tests.conftest import TODAY, World, make_world
from tests.farm.judging import day
from tests.farm.orders_world import line, take
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def market(transactional_db: None) -> World:
    """Hollow Farm with 12 birds and two orders for 10 of them each, of the same rank but for their numbers."""
    world = make_world()
    world.add_batch("Browns", birds=12)
    for customer in ("Meadow Farm", "Barn Shop"):
        take(world, line(birds=10, from_on=TODAY, to_on=day(3)), customer=customer)
    return world


def give(world: World, customer: str, birds: int, **fields: Any) -> Callable[[], object]:
    asked = {
        "line_id": Order.objects.get(customer=customer).lines.get().pk,
        "batch_id": Batch.objects.get().pk,
        "birds": birds,
        "day": TODAY,
    }
    return lambda: fillings.hand_over(world.by, **asked, **fields)


def test_of_two_hand_overs_one_succeeds_and_the_other_hears_what_is_left(market: World):
    raised = at_once(give(market, "Meadow Farm", 8, anyway=True), give(market, "Barn Shop", 8, anyway=True))

    refused = [error for error in raised if error is not None]
    assert [type(error) for error in refused] == [BadInput]
    assert refused[0].fields == {"birds": ["4 birds of Browns are left."]}
    assert [filling.birds for filling in Filling.objects.all()] == [8]
    assert heads.alive_on(Batch.objects.get(), TODAY) == 4
    assert soundness.problems(market.farm) == []


def test_an_order_that_comes_first_keeps_its_birds_whoever_is_quicker(market: World):
    raised = at_once(give(market, "Barn Shop", 8), give(market, "Meadow Farm", 8))

    assert isinstance(raised[0], BadInput)
    assert raised[1] is None
    assert Filling.objects.get().line.order.customer == "Meadow Farm"


def test_a_line_is_never_filled_twice(market: World):
    raised = at_once(*(give(market, "Meadow Farm", 10) for _ in range(2)))

    refused = [error for error in raised if error is not None]
    assert [list(error.fields) for error in refused if isinstance(error, BadInput)] == [["line_id"]]
    assert Order.objects.get(customer="Meadow Farm").status == "filled"
    assert heads.alive_on(Batch.objects.get(), TODAY) == 2


def test_the_same_hand_over_sent_by_two_tabs_is_one(market: World):
    raised = at_once(*(give(market, "Meadow Farm", 4, client_key="phone-1") for _ in range(3)))

    assert raised == [None] * 3
    assert Filling.objects.count() == 1


def test_a_hand_over_and_a_loss_at_once_leave_the_ledger_sound(market: World):
    batch = Batch.objects.get()

    raised = at_once(
        give(market, "Meadow Farm", 9),
        lambda: counts.add(market.by, batch_id=batch.pk, kind="died", birds=9, day=TODAY),
    )

    assert sorted(type(error).__name__ for error in raised) == ["BadInput", "NoneType"]
    assert heads.alive_on(batch, TODAY) == 3
    assert soundness.problems(market.farm) == []


def test_a_hand_over_taken_back_twice_at_once_comes_back_once(market: World):
    filling = give(market, "Meadow Farm", 10)()
    assert isinstance(filling, Filling)

    raised = at_once(*(lambda: fillings.take_back(market.by, filling_id=filling.pk) for _ in range(2)))

    assert sorted(error is None for error in raised) == [False, True]
    assert heads.alive_on(Batch.objects.get(), TODAY) == 12
    assert soundness.problems(market.farm) == []


def test_a_hand_over_and_a_cancelling_at_once_end_in_a_state_that_can_be(market: World):
    order = Order.objects.get(customer="Meadow Farm")

    raised = at_once(
        give(market, "Meadow Farm", 5),
        lambda: orders.set_status(market.by, order_id=order.pk, status="cancelled", expected_version=None),
    )

    assert raised[1] is None
    assert raised[0] is None or isinstance(raised[0], FarmError)
    assert Filling.objects.count() == (raised[0] is None)
    assert Order.objects.get(pk=order.pk).status == "cancelled"


def test_without_the_lock_postgresql_would_promise_more_than_there_is(
    market: World, monkeypatch: pytest.MonkeyPatch
):
    """Both judge before either writes: each of 12 birds fits alone, both together do not."""
    barrier, judge = Barrier(2), hand_over_rules.check

    def wait(*args: Any, **kwargs: Any) -> None:
        judge(*args, **kwargs)
        # Where the other one cannot come (SQLite lets one writer in), go on alone.
        with suppress(BrokenBarrierError):
            barrier.wait(timeout=2)

    monkeypatch.setattr(hand_over_rules, "check", wait)
    monkeypatch.setattr(locks, "farm", lambda farm_id, closed=False: Farm.objects.get(pk=farm_id))

    at_once(give(market, "Meadow Farm", 8, anyway=True), give(market, "Barn Shop", 8, anyway=True))

    given = sum(filling.birds for filling in Filling.objects.all())
    # SQLite's IMMEDIATE transactions are a lock of their own.
    assert given == (16 if connection.vendor == "postgresql" else 8)
