"""Orders among a farm's work: on the day, in calendars, and gone once the birds are."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from calendars import editions, services
from farm.models import Batch, ChoreMark
from farm.planning.agenda import Item
from farm.planning.window import Window
from farm.queries import agenda, hand_overs
from farm.services import chores, orders, stays
from farm.services.orders import NewOrder
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day
from tests.farm.orders_world import give, line, take


@pytest.fixture
def browns(world: World) -> Batch:
    """40 layers of 60 days in Pen 1."""
    return world.add_batch("Browns", age=60, housing="Pen 1", override_reason="Warm nights")


def due(world: World, on: int = 3, today: int = 0) -> list[Item]:
    found = agenda.on_day(world.farm, day(on), day(today))
    return [each.item for each in (*found.due, *found.before) if each.item.job == "hand_over"]


def test_an_order_is_a_step_on_its_first_day(world: World, browns: Batch):
    order = take(world)

    [item] = due(world)

    assert str(item.title) == "Hand over 20 birds to Meadow Farm: Brown layer chicken"
    assert item.source == f"line:{order.lines.get().pk}/hand_over"
    assert (item.due, item.until) == (day(3), day(7))
    assert (item.room_name, item.batch) == ("Pen 1", str(browns.pk))


def test_birds_too_young_on_the_first_day_are_handed_over_when_they_are_old_enough(
    world: World, browns: Batch
):
    take(world, line(age_from_days=65))

    assert [item.due for item in due(world, on=5)] == [day(5)]
    assert due(world, on=3) == []


def test_an_order_waits_for_birds_to_come_and_without_any_it_has_no_place(world: World):
    world.add_batch("Chicks", hatch_day=day(5))
    take(world, line(programme="duck"))
    take(world)

    ducks, chicks = due(world, on=3), due(world, on=5)

    assert [(item.batch, item.room, item.room_name) for item in ducks] == [(None, None, "")]
    assert [item.due for item in chicks] == [day(5), day(3)]


def test_the_number_is_what_is_left_and_a_filled_cancelled_or_quoted_order_asks_nothing(
    world: World, browns: Batch
):
    order = take(world)
    quote, off = take(world, status="quote"), take(world)
    orders.set_status(world.by, order_id=off.pk, status="cancelled", expected_version=None)

    give(world, order, browns, 13)
    assert [str(item.title) for item in due(world)] == [
        "Hand over 7 birds to Meadow Farm: Brown layer chicken"
    ]
    give(world, order, browns, 7)
    assert due(world) == []
    assert quote.lines.count() == 1


def test_a_promise_does_not_end_with_its_last_day(world: World, browns: Batch):
    take(world)

    assert len(due(world, on=10, today=10)) == 1


def test_a_tick_stays_whatever_day_it_is(world: World, browns: Batch):
    take(world)
    [item] = due(world, today=3)
    by = world.by
    chores.mark(by, source=item.source, due=item.due, round=item.round, title=str(item.title))

    assert ChoreMark.objects.get().title.startswith("Hand over 20 birds")
    assert due(world, on=4, today=4) == []


def test_the_batchs_own_page_has_its_hand_overs_and_no_others(world: World, browns: Batch):
    other = world.add_batch("Meaties", programme="chicken_meat", age=30)
    take(world)

    def steps(batch: Batch) -> list[str]:
        return [each.item.job for each in agenda.for_batch(batch, TODAY, 90)]

    assert "hand_over" in steps(browns)
    assert "hand_over" not in steps(other)


def test_the_next_step_of_a_batch_may_be_a_hand_over(world: World, browns: Batch):
    take(world, line(from_on=TODAY, to_on=TODAY))

    found = agenda.next_steps(world.farm, TODAY)
    assert found[browns.pk].due == TODAY


def test_a_farm_without_orders_is_asked_once(world: World, browns: Batch, django_assert_num_queries):
    with django_assert_num_queries(1):
        assert hand_overs.for_agenda(world.farm, TODAY) == ()


@pytest.fixture
def client(world: World, time_machine) -> Client:
    time_machine.move_to(NOON + timedelta(days=3), tick=False)
    found = Client()
    assert world.by.login is not None
    found.force_login(world.by.login)
    return found


@pytest.mark.parametrize("programme", ["chicken_layer_brown", "duck"])
def test_todays_page_shows_a_hand_over_with_and_without_housing_and_ticks_it(
    world: World, browns: Batch, client: Client, programme: str
):
    orders.add(world.by, new=NewOrder(customer="O'Neill & <Sons>", lines=[line(programme=programme)]))
    [item] = [each for each in due(world, today=3) if each.job == "hand_over"]

    page = client.get("/").content.decode()
    assert "O&#x27;Neill &amp; &lt;Sons&gt;" in page

    said = {
        "source": item.source,
        "due": item.due.isoformat(),
        "round": item.round,
        "day": day(3).isoformat(),
    }
    ticked = client.post("/today/mark/", said, follow=True)
    assert ticked.status_code == 200
    assert ChoreMark.objects.get().source == item.source


def test_calendars_hold_hand_overs_with_and_without_housing(world: World, browns: Batch):
    take(world, customer="Meadow, Barn; Co")
    take(world, line(programme="duck"), customer="Duck Lovers")

    body = services.build(editions.Edition(world.farm, None, "en"), NOON)
    text = bytes(body.octets).decode().replace("\r\n ", "")

    assert "SUMMARY:Hand over 20 birds to Meadow\\, Barn\\; Co: Brown layer chicken" in text
    events = [each for each in text.split("BEGIN:VEVENT") if "SUMMARY:Hand over" in each]
    assert [("LOCATION:Pen 1" in each, "LOCATION" in each) for each in events] == [
        (True, True),
        (False, False),
    ]
    assert all("Salmonella" in each for each in events)


def test_birds_that_move_meanwhile_are_fetched_where_they_are(world: World, browns: Batch):
    world.add_housing("Pen 2", kind="pen", area_m2=12.0, heated=False)
    take(world)
    places = {"from_id": world.housing["Pen 1"].pk, "to_id": world.housing["Pen 2"].pk}
    stays.move(world.by, batch_id=browns.pk, birds=40, day=day(2), **places)

    assert [item.room_name for item in due(world)] == ["Pen 2"]
    whole = agenda.for_farm(world.farm, Window(TODAY, 30), TODAY)
    assert sum(item.job == "hand_over" for item in whole) == 1
