"""The list of orders, the page of one, the weeks and the pick-up list."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from farm.models import LineOdds, Order
from farm.models.member import Role
from farm.queries import allotments
from farm.services import fillings, holds, orders
from farm.web.board.choice import choose
from farm.web.orders import weeks
from tests.conftest import NOON, TODAY, World
from tests.web.orders_pages import day, give, line, said, sign_in, take


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def test_a_farm_without_orders_is_told_what_they_are_for(seen: Client, world: World):
    page = said(seen.get("/orders/"))

    assert "Write down who wants how many birds" in page
    assert "New order" in page


def test_open_orders_stand_by_date_with_their_odds_and_quotes_apart(seen: Client, world: World):
    world.add_batch("Browns", birds=100)
    take(world, line(from_on=day(9), to_on=day(9)), customer="Late")
    take(world, line(birds=10), customer="Soon")
    take(world, customer="Asks", status="quote")

    answer = seen.get("/orders/")

    assert [one.row.order.customer for one in answer.context["shown"]] == ["Soon", "Late"]
    assert "very likely: ordered 10, expected 10; all 10 with more than 99 %" in said(answer)
    quotes = seen.get("/orders/?show=quotes").context["shown"]
    assert [one.row.order.customer for one in quotes] == ["Asks"]


def test_birds_that_lack_are_said_in_the_list(seen: Client, world: World):
    world.add_batch("Browns", birds=15, age=200)
    take(world)

    answer = seen.get("/orders/")

    [one] = answer.context["shown"]
    assert one.short >= 5
    assert f"{one.short} birds short ordered 20, expected 15; all 20 with less than 1 %" in said(answer)


def test_a_customer_is_found_by_part_of_the_name(seen: Client, world: World):
    take(world, customer="Meadow Farm")
    take(world, customer="Brook House")

    answer = seen.get("/orders/?customer=MEAD")

    assert [one.row.order.customer for one in answer.context["shown"]] == ["Meadow Farm"]
    assert "No such order here." in said(seen.get("/orders/?customer=Nobody"))


@pytest.mark.parametrize("asked", ["", "nonsense", "all", "filled", "cancelled"])
def test_any_filter_is_answered(seen: Client, world: World, asked: str):
    take(world)

    assert seen.get("/orders/", {"show": asked}).status_code == 200


def test_the_list_costs_the_same_for_many_orders(seen: Client, world: World, django_assert_max_num_queries):
    world.add_batch("Browns", birds=400)
    for number in range(8):
        take(world, line(birds=3), line(birds=2), customer=f"C-{number}")
    seen.get("/orders/")

    with django_assert_max_num_queries(35):
        seen.get("/orders/")


def test_the_page_of_an_order_shows_meant_birds_and_hand_overs(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=100)
    order = take(world, deposit="20 paid", notes="by the gate")
    give(world, order, batch, 5)

    page = said(seen.get(f"/orders/{order.pk}/"))

    assert "Confirmed, 15 birds still to hand over" in page
    assert "15 of Browns" in page
    assert "5 of 20" in page
    assert "1 May 2026: 5 birds of Browns by Ada" in page
    assert "20 paid" in page
    assert "by the gate" in page
    assert "That is enough: call it filled" in page


def test_a_quote_shows_how_it_would_stand(seen: Client, world: World):
    world.add_batch("Browns", birds=100)
    quote = take(world, status="quote")

    page = said(seen.get(f"/orders/{quote.pk}/"))

    assert "If confirmed very likely" in page
    assert "Hand over" not in page


def test_an_order_past_its_last_day_is_marked_late(seen: Client, world: World):
    take(world, line(from_on=TODAY, to_on=TODAY))
    with time_machine.travel(NOON + timedelta(days=2), tick=False):
        assert "The last day has passed." in said(seen.get("/orders/"))
        assert "Late" in said(seen.get("/orders/pickups/"))


def test_how_the_odds_went_is_drawn_and_written_after_a_second_day(seen: Client, world: World):
    order = take(world)
    row = order.lines.get()
    for offset, chance in ((-2, 0.4), (-1, 0.7)):
        LineOdds.objects.create(
            farm=world.farm, line=row, day=day(offset), allotted=9, expected=9, chance=chance, low=8, high=11
        )

    page = said(seen.get(f"/orders/{order.pk}/"))

    assert "How sure it was until now" in page
    assert "30 Apr 2026 70 % 9 8 to 11" in page


def test_a_helper_reads_and_hands_over_and_a_child_sees_no_customers(client: Client, world: World):
    order = take(world)
    helper, child = world.add_member("Ben", Role.HELPER), world.add_member("Cleo", Role.CHILD)
    with time_machine.travel(NOON, tick=False):
        page = said(sign_in(client, helper).get(f"/orders/{order.pk}/"))
        assert "Hand over" in page
        assert "Cancel the order" not in page
        assert client.get(f"/orders/{order.pk}/edit/").status_code == 403
        sign_in(client, child)
        assert client.get("/orders/").status_code == 403
        assert "/orders/" not in client.get("/").content.decode()


def test_another_farms_order_is_not_found(seen: Client, world: World, elsewhere: World):
    theirs = take(elsewhere)

    for page in ("", "edit/", "cancel/", "remove/"):
        assert seen.get(f"/orders/{theirs.pk}/{page}").status_code == 404
    assert seen.get(f"/orders/lines/{theirs.lines.get().pk}/give/").status_code == 404


def test_weeks_add_up_to_what_is_promised(world: World):
    world.add_batch("Browns", birds=30, age=100)
    take(world, line(birds=25), customer="First")
    take(world, line(birds=20, from_on=day(9), to_on=day(12)), line(birds=3), customer="Second")
    found = allotments.for_farm(world.farm, TODAY)

    drawn = weeks.draw(found, choose({"weeks": "6"}, TODAY, 0), TODAY)

    assert sum(week.promised for week in drawn) == 48
    for week in drawn:
        assert week.promised == sum(share.birds for share in week.shares)
        assert week.short == sum(share.short for share in week.shares)
        assert week.low - 1 <= week.expected <= week.high + 1
        assert max(week.promised_x, week.high_x) <= weeks.BAR
    assert sum(week.short for week in drawn) == 48 - sum(share.birds for share in found.allotment.shares) > 0
    assert [week.now for week in drawn].count(True) == 1


def test_the_weeks_page_names_orders_and_spare_birds(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=30, age=100)
    holds.add(world.by, batch_id=batch.pk, birds=4)
    take(world, line(birds=20))

    page = said(seen.get("/orders/weeks/"))

    assert "20 of 20" in page
    assert "Meadow Farm 20" in page
    assert "Brown layer chicken Browns 6" in page


def test_weeks_without_orders_say_so(seen: Client, world: World):
    page = said(seen.get("/orders/weeks/?from=2001-01-01&weeks=rubbish"))

    assert "No birds are promised in these weeks." in page
    assert "None: all birds here and expected are promised or held back." in page


def test_the_pick_up_list_names_birds_and_their_place(seen: Client, world: World):
    world.add_batch("Browns", birds=100, housing="Brooder 1")
    take(world, line(birds=12))
    take(world, line(birds=7, from_on=day(20), to_on=day(20)), customer="Much later")
    take(world, customer="Asks only", status="quote")

    page = said(seen.get("/orders/pickups/", {"day": day(4).isoformat()}))

    assert "12 birds may be fetched." in page
    assert "12 of Browns, in Brooder 1" in page
    assert "Much later" not in page
    assert "Asks only" not in page


def test_the_pick_up_list_shows_what_went_and_reads_any_day(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=100)
    order = take(world, line(birds=12, from_on=TODAY, to_on=TODAY))
    give(world, order, batch, 12)

    assert "Meadow Farm: 12 of Browns" in said(seen.get("/orders/pickups/"))
    assert seen.get("/orders/pickups/?day=nonsense").context["day"] == TODAY


def test_history_links_to_the_order(seen: Client, world: World):
    order = take(world)

    assert f'href="/orders/{order.pk}/"' in seen.get("/history/").content.decode()


def test_an_order_closed_by_its_last_bird_can_only_be_raised(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=100)
    order = take(world, line(birds=3))
    filling = give(world, order, batch, 3)

    page = said(seen.get(f"/orders/{order.pk}/"))
    assert "Filled" in page
    assert "Open it again" not in page

    fillings.take_back(world.by, filling_id=filling.pk)
    orders.set_status(world.by, order_id=order.pk, status="cancelled", expected_version=None)
    assert "It is on after all: confirm it" in said(seen.get(f"/orders/{order.pk}/"))
    assert Order.objects.get().status == "cancelled"


def test_a_step_on_today_leads_to_its_hand_over(seen: Client, world: World):
    world.add_batch("Browns", birds=30, age=100, housing="Brooder 1")
    order = take(world, line(from_on=TODAY, to_on=TODAY))

    assert f'href="/orders/lines/{order.lines.get().pk}/give/"' in seen.get("/").content.decode()
