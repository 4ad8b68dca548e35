"""Handing over, taking back, keeping birds back, forgetting a customer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, CountEntry, Filling, Hold, Order
from farm.models.member import Role
from farm.queries import heads
from farm.services import holds
from tests.conftest import NOON, TODAY, World
from tests.web.orders_pages import day, errors, give, line, said, sign_in, status, take, written


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def address(order: Order) -> str:
    return f"/orders/lines/{order.lines.get().pk}/give/"


def typed(batch: Batch, birds: int, **fields: Any) -> dict[str, Any]:
    return {"batch_id": batch.pk, "birds": birds, "day": TODAY.isoformat(), "client_key": "k1"} | fields


def test_birds_are_handed_over_and_the_order_is_filled(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    order = take(world)

    answer = seen.post(address(order), typed(batch, 20), follow=True)

    assert "20 birds of Browns handed over to Meadow Farm." in said(answer)
    assert status(order) == "filled"
    assert heads.alive_on(batch, TODAY) == 10


def test_a_form_sent_twice_hands_over_once(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    order = take(world)

    seen.post(address(order), typed(batch, 5))
    seen.post(address(order), typed(batch, 5))

    assert Filling.objects.count() == 1


def test_the_form_says_what_is_free_and_starts_with_the_batch_meant(seen: Client, world: World):
    young = world.add_batch("Chicks", birds=50, age=2)
    old = world.add_batch("Hens", birds=30, age=67)
    holds.add(world.by, batch_id=old.pk, birds=4)
    order = take(world, line(birds=9, age_from_days=60, age_to_days=100))

    answer = seen.get(address(order))

    page = said(answer)
    assert "Hens: 26 free of 30, 9 weeks 4 days old" in page
    assert "Chicks: 50 free of 50, 2 days old (younger than ordered)" in page
    assert answer.context["form"].initial["batch_id"] == old.pk
    assert answer.context["form"].initial["birds"] == 9
    assert young.name in page


def test_more_than_is_free_is_refused_with_what_is_left(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    holds.add(world.by, batch_id=batch.pk, birds=25)
    order = take(world)
    before = written()

    answer = seen.post(address(order), typed(batch, 6, anyway="on"))

    assert errors(answer)["birds"] == [
        "5 birds of Browns are left (30 alive, the others are held back or meant for orders that come first)."
    ]
    assert answer.context["form"]["birds"].value() == "6"
    assert written() == before


def test_birds_meant_for_an_earlier_order_go_only_when_a_keeper_says_so(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    take(world, line(birds=25), customer="First", priority=1)
    order = take(world, line(birds=10), customer="Second")

    refused = seen.post(address(order), typed(batch, 10))
    assert "5 birds of Browns are left" in errors(refused)["birds"][0]
    assert "anyway" in refused.context["form"].fields

    seen.post(address(order), typed(batch, 10, anyway="on"))
    assert status(order) == "filled"


def test_a_helper_has_no_anyway(client: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    take(world, line(birds=25), customer="First", priority=1)
    order = take(world, line(birds=10), customer="Second")
    with time_machine.travel(NOON, tick=False):
        sign_in(client, world.add_member("Ben", Role.HELPER))

        answer = client.post(address(order), typed(batch, 10, anyway="on"))

        assert "birds" in errors(answer)
        assert "anyway" not in answer.context["form"].fields


def test_a_batch_of_other_birds_cannot_be_chosen(seen: Client, world: World):
    world.add_batch("Browns", birds=30)
    ducks = world.add_batch("Ducks", birds=30, programme="duck")
    order = take(world)

    assert "batch_id" in errors(seen.post(address(order), typed(ducks, 3)))
    assert not Filling.objects.exists()


def test_without_such_birds_the_form_gives_way_to_words(seen: Client, world: World):
    page = said(seen.get(address(take(world))))

    assert "No batch here has such birds." in page
    assert "Birds *" not in page


def test_a_quote_is_not_handed_over(seen: Client, world: World):
    quote = take(world, status="quote")

    assert seen.get(address(quote)).url == f"/orders/{quote.pk}/"


def test_a_day_to_come_is_refused_at_the_day(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30)

    answer = seen.post(address(take(world)), typed(batch, 3, day=day(1).isoformat()))

    assert list(errors(answer)) == ["day"]


def test_taking_back_asks_first_and_opens_the_order_again(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    order = take(world)
    filling = give(world, order, batch, 20)
    before = written()

    assert "Take this hand-over back?" in said(seen.get(f"/orders/given/{filling.pk}/back/"))
    assert written() == before
    answer = seen.post(f"/orders/given/{filling.pk}/back/", follow=True)

    assert "20 birds are with Browns again." in said(answer)
    assert status(order) == "confirmed"
    assert heads.alive_on(batch, TODAY) == 30


def test_birds_are_kept_back_from_the_page_of_their_batch(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    take(world, line(birds=10))

    answer = seen.post(
        f"/orders/holds/batch/{batch.pk}/new/",
        {"birds": "6", "sex": "any", "reason": "our own"},
        follow=True,
    )

    page = said(answer)
    assert "10 meant for orders, 6 kept back, about 14 over." in page
    assert "10 for Meadow Farm, from 4 May" in page
    assert "6 kept back: our own" in page


def test_more_than_there_are_cannot_be_kept_back(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30)

    answer = seen.post(f"/orders/holds/batch/{batch.pk}/new/", {"birds": "31", "sex": "any"})

    assert errors(answer) == {"birds": ["Enter a number from 1 to 30."]}
    assert not Hold.objects.exists()


def test_a_hold_is_changed_and_let_go_after_asking(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30)
    hold = holds.add(world.by, batch_id=batch.pk, birds=6)

    seen.post(f"/orders/holds/{hold.pk}/edit/", {"birds": "9", "sex": "any", "version": hold.version})
    assert Hold.objects.get().birds == 9
    stale = seen.post(f"/orders/holds/{hold.pk}/edit/", {"birds": "2", "sex": "any", "version": "1"})
    assert errors(stale)[""]
    seen.get(f"/orders/holds/{hold.pk}/remove/")
    assert Hold.objects.exists()
    assert seen.post(f"/orders/holds/{hold.pk}/remove/").url == f"/batches/{batch.pk}/"
    assert not Hold.objects.exists()


def test_a_child_sees_no_customers_on_the_page_of_a_batch(client: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    take(world, customer="Secret Customer")
    with time_machine.travel(NOON, tick=False):
        sign_in(client, world.add_member("Cleo", Role.CHILD))

        assert 'id="orders-title"' not in client.get(f"/batches/{batch.pk}/").content.decode()


def test_forgetting_asks_first_and_leaves_no_trace_of_the_name(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    order = take(world, customer="Meadow Farm")
    give(world, order, batch, 3)
    before = written()

    asked = said(seen.get("/orders/customers/forget/?customer=Meadow+Farm"))
    assert "Forget Meadow Farm?" in asked
    assert "This cannot be undone" in asked
    assert written() == before

    answer = seen.post("/orders/customers/forget/", {"customer": "Meadow Farm"}, follow=True)

    assert "The orders are under “customer 1” now." in said(answer)
    for page in ("/orders/?show=all", f"/orders/{order.pk}/", "/history/", f"/batches/{batch.pk}/"):
        assert "Meadow" not in seen.get(page).content.decode()
    assert CountEntry.objects.filter(note__contains="Meadow").count() == 0


def test_a_name_nobody_has_is_refused_in_words(seen: Client, world: World):
    answer = seen.post("/orders/customers/forget/", {"customer": "Nobody"})

    assert "No order has this name." in said(answer)
    assert seen.get("/orders/customers/forget/").url == "/orders/customers/"


def test_customers_are_listed_with_their_orders(seen: Client, world: World):
    take(world, customer="Zoe")
    take(world, customer="Abel")
    take(world, customer="Zoe")

    page = said(seen.get("/orders/customers/"))

    assert "Abel 1 Forget Abel Zoe 2 Forget Zoe" in page
