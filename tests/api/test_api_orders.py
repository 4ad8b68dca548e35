"""Orders over the API: taken, changed line by line, confirmed, handed over, and forgotten when a customer asks."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.models import SentRequest
from farm.models import CountEntry, Filling, Order, OrderLine
from farm.services.channels import sealing
from tests.api.api_session import Session
from tests.api.api_world import Program, wrong
from tests.conftest import World
from tests.farm.judging import day
from tests.farm.orders_world import give, line, status, take

LINE = {
    "programme": "chicken_layer_brown",
    "birds": 20,
    "from_on": "2026-05-04",
    "to_on": "2026-05-07",
    "age_to_days": 400,
}
NEW = {"customer": "Meadow Farm", "lines": [LINE]}


def test_an_order_is_taken_and_says_what_is_meant_for_it_and_how_sure_that_is(world: World, program: Program):
    wrens = world.add_batch("Wrens", birds=40, housing="Brooder 1")

    reply = program.post("/orders/", NEW)

    order = Order.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/orders/{order.pk}/")
    shown = reply.json()
    assert shown == program.get(f"/orders/{order.pk}/").json()
    assert (shown["status"], shown["left"], shown["first_on"]) == ("confirmed", 20, "2026-05-04")
    (first,) = shown["lines"]
    assert (first["programme"], first["given"], first["overdue"]) == ("chicken_layer_brown", 0, False)
    assert first["meant"] == [{"batch_id": wrens.pk, "batch": "Wrens", "birds": 20, "day": "2026-05-04"}]
    assert (first["odds"]["allotted"], first["odds"]["short"]) == (20, 0)
    assert 0.9 < first["odds"]["chance"] <= 1
    assert shown["chance"] == first["odds"]["chance"]
    assert first["warning"] == ""


def test_a_line_nobody_can_fill_says_why(world: World, program: Program):
    shown = program.post("/orders/", NEW).json()

    assert shown["lines"][0]["odds"]["short"] == 20
    assert shown["lines"][0]["warning"]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"customer": ""}, "#/customer"),
        ({"lines": []}, "#/lines"),
        ({"lines": [LINE, LINE | {"birds": 0}]}, "#/lines/1/birds"),
        ({"lines": [LINE, LINE | {"to_on": "2026-04-30", "from_on": "2026-04-29"}]}, "#/lines/1/to_on"),
        ({"lines": [LINE | {"to_on": "2026-05-01"}]}, "#/lines/0"),
        ({"lines": [LINE | {"programme": "dragons"}]}, "#/lines/0/programme"),
        ({"lines": [LINE | {"id": 999}]}, "#/lines"),
        ({"status": "filled"}, "#/status"),
        ({"priority": 4}, "#/priority"),
        ({"ordered_on": "2020-01-01"}, "#/ordered_on"),
    ],
)
def test_what_an_order_can_not_be_is_refused_at_its_field(
    program: Program, changed: dict[str, Any], field: str
):
    reply = program.post("/orders/", NEW | changed)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not Order.objects.exists()


def test_lines_are_changed_added_and_removed_together(world: World, program: Program):
    order = take(world, line(), line(birds=5))
    kept, gone = order.lines.order_by("pk")
    seen = program.get(f"/orders/{order.pk}/")

    lines = [LINE | {"id": kept.pk, "birds": 25}, LINE | {"birds": 7, "sex": "female"}]
    shown = program.patch(f"/orders/{order.pk}/", {"lines": lines, "priority": 1}, seen=seen).json()

    assert sorted((one["birds"], one["sex"]) for one in shown["lines"]) == [(7, "female"), (25, "any")]
    assert kept.pk in [one["id"] for one in shown["lines"]]
    assert not OrderLine.objects.filter(pk=gone.pk).exists()
    assert (shown["priority"], shown["customer"]) == (1, "Meadow Farm")
    assert program.patch(f"/orders/{order.pk}/", {"deposit": "10"}, seen=seen).status_code == 412
    assert program.patch(f"/orders/{order.pk}/", {"deposit": "10"}).status_code == 428
    assert list(wrong(program.patch(f"/orders/{order.pk}/", {"lines": None}, If_Match="*"))) == ["#/lines"]


def test_an_order_is_confirmed_and_cancelled_and_a_quote_removed(world: World, program: Program):
    order = take(world, status="quote")
    path = f"/orders/{order.pk}/"

    assert (
        program.put(f"{path}status/", {"status": "confirmed"}, seen=program.get(path)).json()["status"]
        == "confirmed"
    )
    assert program.delete(path, If_Match="*").status_code == 422
    assert program.put(f"{path}status/", {"status": "filled"}, If_Match="*").status_code == 422
    assert program.put(f"{path}status/", {"status": "cancelled"}, If_Match="*").json()["left"] == 0
    assert program.put(f"{path}status/", {"status": "quote"}, If_Match="*").status_code == 200
    assert program.delete(path, If_Match=f'"1-{"0" * 16}"').status_code == 412
    assert program.delete(path, seen=program.get(path)).status_code == 204
    assert not Order.objects.exists()


def test_orders_are_filtered_paged_and_shown_in_parts(world: World, program: Program):
    late = take(world, customer="Amble")
    early = take(world, line(from_on=day(1), to_on=day(2)), customer="Brook")
    take(world, customer="Crane", status="quote")
    program.put(f"/orders/{take(world, customer='Dell').pk}/status/", {"status": "cancelled"}, If_Match="*")

    def names(query: str = "") -> list[str]:
        return [one["customer"] for one in program.get(f"/orders/?{query}").json()["items"]]

    assert names() == ["Brook", "Amble", "Crane"]
    assert names("status=cancelled") == ["Dell"]
    assert names("customer=MBL") == ["Amble"]
    assert names(f"from={day(3)}") == ["Amble", "Crane"]
    assert names(f"to={day(3)}") == ["Brook"]
    assert names("overdue=true") == []
    assert names("limit=1") == ["Brook"]
    page = program.get("/orders/?fields=left&limit=2").json()
    assert page["items"] == [{"id": early.pk, "left": 20}, {"id": late.pk, "left": 20}]


def test_birds_are_handed_over_once_under_a_key_and_fill_the_order(world: World, program: Program):
    wrens = world.add_batch("Wrens", birds=40, housing="Brooder 1")
    order = take(world, line(from_on=day(0)))
    body = {
        "line_id": order.lines.get().pk,
        "batch_id": wrens.pk,
        "birds": 20,
        "day": "2026-05-01",
        "key": "a",
    }

    first, again = program.post("/hand-overs/", body), program.post("/hand-overs/", body)

    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json() == program.get(f"/hand-overs/{first.json()['id']}/").json()
    assert (first.json()["batch"], first.json()["member"]) == ("Wrens", "Ada")
    assert status(order) == "filled"
    assert sum(CountEntry.objects.values_list("birds", flat=True)) == 20
    assert program.get(f"/orders/{order.pk}/").json()["lines"][0]["hand_overs"] == [first.json()]


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"birds": 21}, "#/birds"),
        ({"day": "2026-05-02"}, "#/day"),
        ({"birds": 0}, "#/birds"),
    ],
)
def test_birds_that_can_not_go_are_refused_at_their_field(
    world: World, program: Program, changed: dict[str, Any], field: str
):
    wrens = world.add_batch("Wrens", birds=40, housing="Brooder 1")
    order = take(world, line(from_on=day(0)))
    body = {"line_id": order.lines.get().pk, "batch_id": wrens.pk, "birds": 20, "day": "2026-05-01"}

    reply = program.post("/hand-overs/", body | changed)

    assert (reply.status_code, list(wrong(reply))) == (422, [field])
    assert not Filling.objects.exists()


def test_other_birds_than_ordered_are_refused_at_the_batch(world: World, program: Program):
    ducks = world.add_batch("Ducks", programme="duck", housing="Brooder 1")
    body = {"line_id": take(world).lines.get().pk, "batch_id": ducks.pk, "birds": 2, "day": "2026-05-01"}

    assert list(wrong(program.post("/hand-overs/", body))) == ["#/batch_id"]
    assert not Filling.objects.exists()


def test_what_was_handed_over_is_listed_and_taken_back(world: World, program: Program):
    wrens, robins = (
        world.add_batch("Wrens", housing="Brooder 1"),
        world.add_batch("Robins", housing="Brooder 2"),
    )
    order, other = take(world), take(world, customer="Brook")
    first, second = give(world, order, wrens, 5), give(world, other, robins, 6)

    def ids(query: str) -> list[int]:
        return [one["id"] for one in program.get(f"/hand-overs/?{query}").json()["items"]]

    assert ids("order=day") == [first.pk, second.pk]
    assert ids(f"order_id={other.pk}") == ids(f"batch_id={robins.pk}") == [second.pk]
    assert ids("from=2026-05-02") == []
    assert program.delete(f"/hand-overs/{first.pk}/").status_code == 204
    assert ids("") == [second.pk]
    assert program.get(f"/orders/{order.pk}/").json()["left"] == 20


def test_a_lines_candidates_are_the_batches_that_suit_it(world: World, program: Program):
    world.add_batch("Ducks", programme="duck", housing="Brooder 1")
    wrens = world.add_batch("Wrens", birds=40, housing="Brooder 2")
    order = take(world)

    found = program.get(f"/hand-overs/candidates/?line_id={order.lines.get().pk}").json()["items"]

    assert found == [
        {"batch_id": wrens.pk, "batch": "Wrens", "alive": 40, "free": 40, "meant": 20, "age_days": 14}
    ]


def test_a_forgotten_customer_stands_nowhere_not_even_in_answers_kept(world: World, program: Program):
    program.post("/orders/", NEW, Idempotency_Key="once")

    code = program.post("/customers/forget/", {"customer": "meadow farm"}).json()["code"]

    assert program.get("/customers/").json()["items"] == [{"name": code, "orders": 1}]
    assert "Meadow" not in sealing.open_sealed(SentRequest.objects.get(key="once").sealed_body)
    assert program.post("/orders/", NEW, Idempotency_Key="once").json()["customer"] == code
    assert list(wrong(program.post("/customers/forget/", {"customer": "Nobody"}))) == ["#/customer"]


def test_an_answer_nobody_can_open_goes_when_a_customer_is_forgotten(world: World, program: Program):
    program.post("/orders/", NEW, Idempotency_Key="once")
    SentRequest.objects.update(sealed_body="nobody's")

    assert program.post("/customers/forget/", {"customer": "Meadow Farm"}).status_code == 200
    assert not SentRequest.objects.exists()


def test_helpers_hand_over_and_children_see_no_customer(world: World, program: Program):
    wrens = world.add_batch("Wrens", housing="Brooder 1")
    order = take(world, line(from_on=day(0)))
    helper, child = Program(world.add_member("Hal", "helper")), Session(world.add_member("Kim", "child"))
    body = {"line_id": order.lines.get().pk, "batch_id": wrens.pk, "birds": 2, "day": "2026-05-01"}

    assert "Meadow Farm" in program.get("/occurrences/").content.decode()
    for path in (
        "/orders/",
        f"/orders/{order.pk}/",
        "/customers/",
        "/hand-overs/",
        "/holds/",
        "/order-series/",
    ):
        assert helper.get(path).status_code != 403, path
        assert child.get(path).status_code == 403, path
    for path in ("/occurrences/", f"/occurrences/?member={world.keeper.pk}", "/rota/"):
        assert "Meadow Farm" not in child.get(path).content.decode()
    assert helper.post("/orders/", NEW).status_code == 403
    assert helper.post("/customers/forget/", {"customer": "Meadow Farm"}).status_code == 403
    assert helper.post("/hand-overs/", body | {"anyway": True}).status_code == 403
    assert Program(world.by, "read", "write").post("/hand-overs/", body).status_code == 403
    assert not Filling.objects.exists()
    assert helper.post("/hand-overs/", body).status_code == 201


def test_another_farms_orders_lines_and_batches_are_not_found(
    world: World, elsewhere: World, program: Program
):
    wrens = world.add_batch("Wrens", housing="Brooder 1")
    order = take(world)
    given = give(world, order, wrens, 2)
    theirs, their_order = elsewhere.add_batch("Theirs"), take(elsewhere)
    other, ours = Program(elsewhere.by), order.lines.get().pk
    body = {"line_id": ours, "batch_id": wrens.pk, "birds": 2, "day": "2026-05-01"}

    for reply in (
        other.get(f"/orders/{order.pk}/"),
        other.patch(f"/orders/{order.pk}/", {"notes": "x"}, If_Match="*"),
        other.put(f"/orders/{order.pk}/status/", {"status": "cancelled"}, If_Match="*"),
        other.delete(f"/orders/{order.pk}/", If_Match="*"),
        other.get(f"/hand-overs/{given.pk}/"),
        other.delete(f"/hand-overs/{given.pk}/"),
        other.get(f"/hand-overs/candidates/?line_id={ours}"),
        other.post("/hand-overs/", body),
        program.post("/hand-overs/", body | {"batch_id": theirs.pk}),
        program.post("/hand-overs/", body | {"line_id": their_order.lines.get().pk}),
    ):
        assert reply.status_code == 404
    stolen = program.patch(
        f"/orders/{order.pk}/", {"lines": [LINE | {"id": their_order.lines.get().pk}]}, If_Match="*"
    )
    assert stolen.status_code == 422
    assert other.get("/hand-overs/").json()["items"] == []
    assert Filling.objects.count() == 1
    assert Order.objects.filter(status="confirmed").count() == 2


def test_more_orders_and_hand_overs_take_no_more_queries(world: World, program: Program):
    def queries(path: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get(path).status_code == 200
        return len(seen)

    wrens = world.add_batch("Wrens", birds=400, housing="Brooder 1")
    paths = ("/orders/", "/hand-overs/", "/customers/")
    give(world, take(world), wrens, 2)
    for path in paths:
        queries(path)
    few = [queries(path) for path in paths]
    for number in range(4):
        give(world, take(world, customer=f"More {number}"), wrens, 2)

    assert [queries(path) for path in paths] == few
