"""Birds kept out of orders, and orders that repeat, over the API."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Hold, Order, OrderSeries
from farm.services import holds
from tests.api.api_world import Program, wrong
from tests.conftest import World

NEW = {
    "customer": "Meadow Farm",
    "programme": "chicken_layer_brown",
    "birds": 20,
    "age_to_days": 400,
    "every_weeks": 2,
    "first_on": "2026-05-04",
    "last_on": "2026-06-01",
}


def queries(program: Program, path: str) -> int:
    with CaptureQueriesContext(connection) as seen:
        assert program.get(path).status_code == 200
    return len(seen)


def test_birds_are_held_more_held_and_let_go(world: World, program: Program):
    wrens = world.add_batch("Wrens", birds=40)

    made = program.post("/holds/", {"batch_id": wrens.pk, "birds": 6, "reason": "our own"})
    path = f"/holds/{made.json()['id']}/"
    seen = program.get(path)

    assert (made.status_code, made["Location"]) == (201, f"/api/v1{path}")
    assert seen.json() == made.json()
    assert program.patch(path, {"birds": 8}).status_code == 428
    assert program.patch(path, {"birds": 8}, seen=seen).json()["birds"] == 8
    assert program.patch(path, {"birds": 9}, seen=seen).status_code == 412
    assert program.delete(path, seen=seen).status_code == 412
    assert program.delete(path, seen=program.get(path)).status_code == 204
    assert not Hold.objects.exists()


@pytest.mark.parametrize(("changed", "field"), [({"birds": 41}, "#/birds"), ({"sex": "male"}, "#/sex")])
def test_birds_that_are_not_there_are_not_held(
    world: World, program: Program, changed: dict[str, Any], field: str
):
    pullets = world.add_batch("Pullets", birds=40, sex="sexed_female")

    reply = program.post("/holds/", {"batch_id": pullets.pk, "birds": 6} | changed)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not Hold.objects.exists()


def test_holds_are_listed_by_batch_in_a_steady_number_of_queries(world: World, program: Program):
    wrens, robins = world.add_batch("Wrens"), world.add_batch("Robins")
    first = holds.add(world.by, batch_id=wrens.pk, birds=2)
    queries(program, "/holds/")
    few = queries(program, "/holds/")
    others = [holds.add(world.by, batch_id=robins.pk, birds=2) for _number in range(4)]

    assert [one["id"] for one in program.get(f"/holds/?batch_id={wrens.pk}").json()["items"]] == [first.pk]
    assert len(program.get("/holds/").json()["items"]) == 1 + len(others)
    assert queries(program, "/holds/") == few


def test_holds_of_another_farm_are_not_found_and_helpers_make_none(
    world: World, elsewhere: World, program: Program
):
    theirs = elsewhere.add_batch("Theirs")
    hold = holds.add(elsewhere.by, batch_id=theirs.pk, birds=2)
    helper = Program(world.add_member("Hal", "helper"))
    mine = world.add_batch("Wrens")

    assert program.get(f"/holds/{hold.pk}/").status_code == 404
    assert program.patch(f"/holds/{hold.pk}/", {"birds": 1}, If_Match="*").status_code == 404
    assert program.delete(f"/holds/{hold.pk}/", If_Match="*").status_code == 404
    assert program.post("/holds/", {"batch_id": theirs.pk, "birds": 1}).status_code == 404
    assert helper.post("/holds/", {"batch_id": mine.pk, "birds": 1}).status_code == 403
    assert list(Hold.objects.values_list("birds", flat=True)) == [2]


def test_a_series_makes_an_order_for_each_of_its_days(world: World, program: Program):
    reply = program.post("/order-series/", NEW)

    series = OrderSeries.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/order-series/{series.pk}/")
    shown = program.get(f"/order-series/{series.pk}/").json()
    assert shown == reply.json()
    assert [one["series_on"] for one in shown["orders"]] == ["2026-05-04", "2026-05-18", "2026-06-01"]
    assert (shown["coming"], shown["programme"], shown["window_days"]) == (3, "chicken_layer_brown", 3)
    order = program.get(f"/orders/{shown['orders'][0]['id']}/").json()
    assert (order["series_id"], order["series_on"], order["lines"][0]["to_on"]) == (
        series.pk,
        "2026-05-04",
        "2026-05-06",
    )


def test_a_change_of_a_series_reaches_its_orders_to_come_but_not_one_that_stands_alone(
    world: World, program: Program
):
    made = program.post("/order-series/", NEW).json()
    alone = made["orders"][0]["id"]
    program.patch(f"/orders/{alone}/", {"notes": "by the gate"}, If_Match="*")
    path = f"/order-series/{made['id']}/"
    seen = program.get(path)

    shown = program.patch(path, {"birds": 30, "last_on": "2026-05-20", "priority": 1}, seen=seen).json()

    assert shown["orders"][0] == {
        "id": alone,
        "series_on": "2026-05-04",
        "status": "confirmed",
        "alone": True,
    }
    assert len(shown["orders"]) == 2
    birds = [program.get(f"/orders/{one['id']}/").json()["lines"][0]["birds"] for one in shown["orders"]]
    assert birds == [20, 30]
    assert program.patch(path, {"birds": 31}, seen=seen).status_code == 412


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"first_on": "2026-04-30"}, "#/first_on"),
        ({"every_weeks": 0}, "#/every_weeks"),
        ({"programme": "dragons"}, "#/programme"),
        ({"birds": 5001}, "#/birds"),
        ({"last_on": "2031-01-01"}, "#/last_on"),
        ({"customer": ""}, "#/customer"),
    ],
)
def test_what_a_series_can_not_be_is_refused_at_its_field(
    program: Program, changed: dict[str, Any], field: str
):
    reply = program.post("/order-series/", NEW | changed)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not OrderSeries.objects.exists()
    assert not Order.objects.exists()


@pytest.mark.parametrize("changed", [{"last_on": "2026-05-01"}, {"age_from_days": 30, "age_to_days": 20}])
def test_days_and_ages_out_of_order_are_refused(program: Program, changed: dict[str, Any]):
    reply = program.post("/order-series/", NEW | changed)

    assert reply.status_code == 422
    assert not OrderSeries.objects.exists()


def test_a_removed_series_takes_its_orders_to_come_with_it(world: World, program: Program):
    made = program.post("/order-series/", NEW).json()
    path = f"/order-series/{made['id']}/"

    assert program.delete(path).status_code == 428
    assert program.delete(path, If_Match=f'"9-{"0" * 16}"').status_code == 412
    assert program.delete(path, seen=program.get(path)).status_code == 204
    assert not Order.objects.exists()


def test_series_of_another_farm_are_not_found_and_helpers_make_none(
    world: World, elsewhere: World, program: Program
):
    made = program.post("/order-series/", NEW).json()
    theirs, helper = Program(elsewhere.by), Program(world.add_member("Hal", "helper"))
    path = f"/order-series/{made['id']}/"

    assert theirs.get(path).status_code == 404
    assert theirs.patch(path, {"birds": 1}, If_Match="*").status_code == 404
    assert theirs.delete(path, If_Match="*").status_code == 404
    assert theirs.get("/order-series/").json()["items"] == []
    assert helper.get(path).status_code == 200
    assert helper.post("/order-series/", NEW).status_code == 403
    assert OrderSeries.objects.get().birds == 20


def test_more_series_take_no_more_queries(world: World, program: Program):
    program.post("/order-series/", NEW)
    queries(program, "/order-series/")
    few = queries(program, "/order-series/")
    for number in range(3):
        program.post("/order-series/", NEW | {"customer": f"More {number}"})

    assert queries(program, "/order-series/") == few
