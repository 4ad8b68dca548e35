"""Taking and changing orders: lines, looking first, refusals at their fields, what becomes of an order."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Order, OrderLine
from farm.services import orders
from tests.conftest import NOON, World
from tests.web.orders_pages import (
    day,
    empty_line,
    errors,
    give,
    line,
    order_form,
    said,
    sign_in,
    status,
    take,
    written,
)


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def of_lines(answer: Any) -> list[dict[str, list[str]]]:
    return [{name: list(texts) for name, texts in form.errors.items()} for form in answer.context["lines"]]


def opened(seen: Client, order: Order) -> dict[str, Any]:
    """Return the form of an order as a browser would send it back."""
    context = seen.get(f"/orders/{order.pk}/edit/").context
    form, lines = context["form"], context["lines"]
    found = {form.add_prefix(name): form[name].value() for name in form.fields}
    for row in lines:
        found |= {row.add_prefix(name): row[name].value() for name in row.fields if name != "DELETE"}
    known = {name: value for name, value in found.items() if value is not None}
    return known | {"lines-TOTAL_FORMS": len(lines.forms), "lines-INITIAL_FORMS": 0}


def test_an_order_of_one_line_is_taken_with_ages_in_weeks(seen: Client, world: World):
    answer = seen.post(
        "/orders/new/", order_form({"age_from_days": "8 weeks", "age_to_days": "10 w", "to_on": ""})
    )

    order = Order.objects.get()
    assert answer.url == f"/orders/{order.pk}/"
    row = order.lines.get()
    assert (row.birds, row.age_from_days, row.age_to_days) == (20, 56, 70)
    assert (row.from_on, row.to_on) == (day(3), day(3))
    assert (order.customer, order.status, order.ordered_on) == ("Meadow Farm", "confirmed", world.by.today)


def test_another_line_keeps_what_was_typed_and_saves_nothing(seen: Client, world: World):
    typed = order_form({"birds": "many", "age_from_days": "8 w"}, notes="by the gate", more="1")

    answer = seen.post("/orders/new/", typed)

    lines = answer.context["lines"].forms
    assert len(lines) == 2
    assert (lines[0]["birds"].value(), lines[0]["age_from_days"].value()) == ("many", "8 w")
    assert lines[1]["birds"].value() is None
    assert answer.context["form"]["notes"].value() == "by the gate"
    assert "required" not in said(answer)
    assert written()[-3] == 0


def test_a_line_left_empty_counts_for_nothing(seen: Client, world: World):
    seen.post("/orders/new/", order_form({}, empty_line(), {"birds": "5"}))

    assert sorted(OrderLine.objects.values_list("birds", flat=True)) == [5, 20]


def test_the_first_line_must_say_something(seen: Client, world: World):
    answer = seen.post("/orders/new/", order_form(empty_line()))

    assert {"birds", "programme", "from_on"} <= of_lines(answer)[0].keys()
    assert not Order.objects.exists()


def test_refusals_stand_at_their_own_line_and_nothing_typed_is_lost(seen: Client, world: World):
    typed = order_form(
        {},
        empty_line(),
        {"birds": "7", "age_from_days": "9 weeks", "age_to_days": "8 weeks"},
        {"from_on": day(6).isoformat(), "to_on": day(3).isoformat()},
        customer="",
    )

    answer = seen.post("/orders/new/", typed)

    assert of_lines(answer) == [
        {},
        {},
        {"age_to_days": ["The oldest age must not be below the youngest."]},
        {"to_on": ["The last day must not be before the first."]},
    ]
    assert list(errors(answer)) == ["customer"]
    assert answer.context["lines"].forms[2]["age_from_days"].value() == "9 weeks"
    assert not Order.objects.exists()


def test_what_the_service_refuses_of_a_later_line_is_shown_there(seen: Client, world: World):
    past = {"from_on": day(-9).isoformat(), "to_on": day(-8).isoformat()}

    answer = seen.post("/orders/new/", order_form({}, empty_line(), past))

    assert of_lines(answer)[0] == {}
    assert of_lines(answer)[2]["to_on"] == ["These days have passed. Choose days that are still to come."]
    assert not Order.objects.exists()


@pytest.mark.parametrize("total", ["", "x", "-1", "9999999", "٣"])
def test_a_tampered_number_of_lines_is_no_crash(seen: Client, world: World, total: str):
    typed = order_form() | {"lines-TOTAL_FORMS": total}

    assert seen.post("/orders/new/", typed).status_code in (200, 302)
    assert seen.post("/orders/new/", typed | {"more": "1"}).status_code == 200


def test_looking_first_says_how_it_would_stand_and_saves_nothing(seen: Client, world: World):
    world.add_batch("Browns", birds=40)
    before = written()

    answer = seen.post("/orders/new/", order_form({"birds": "18"}, {"birds": "90"}, look="1"))

    first, second = answer.context["looked"]
    assert (first.number, first.odds.allotted, first.odds.short) == (1, 18, 0)
    assert [meant.batch.name for meant in first.meant] == ["Browns"]
    assert second.odds.short > 50
    assert "You can still take the order." in said(answer)
    assert written() == before


def test_looking_at_a_changed_order_does_not_count_its_birds_twice(seen: Client, world: World):
    world.add_batch("Browns", birds=40, age=200)
    order = take(world, line(birds=30))

    answer = seen.post(
        f"/orders/{order.pk}/edit/", opened(seen, order) | {"lines-0-birds": "35", "look": "1"}
    )

    [looked] = answer.context["looked"]
    assert (looked.odds.ordered, looked.odds.allotted) == (35, 35)


def test_an_order_no_batch_can_meet_is_taken_with_a_warning(seen: Client, world: World):
    answer = seen.post("/orders/new/", order_form(), follow=True)

    page = said(answer)
    assert Order.objects.count() == 1
    assert "There are not enough birds for it as things stand." in page
    assert "There are no birds of this type, and none are expected." in page


def test_the_form_starts_with_the_type_and_ages_ordered_last(seen: Client, world: World):
    take(world, line(programme="chicken_meat", age_from_days=35, age_to_days=42))

    first = seen.get("/orders/new/?customer=Meadow+Farm").context

    assert first["lines"].forms[0]["programme"].value() == "chicken_meat"
    assert 'value="5 weeks"' in str(first["lines"].forms[0]["age_from_days"])
    assert first["form"]["customer"].value() == "Meadow Farm"


def test_saving_an_order_as_it_opened_changes_nothing(seen: Client, world: World):
    order = take(world, line(), line(birds=5, sex="female", breed="Sussex"))
    before = written()

    answer = seen.post(f"/orders/{order.pk}/edit/", opened(seen, order))

    assert answer.status_code == 302
    assert written() == before
    assert Order.objects.get().version == order.version


def test_lines_are_changed_added_and_taken_off_together(seen: Client, world: World):
    order = take(world, line(birds=1), line(birds=2))
    form = opened(seen, order)
    more = {name.replace("lines-0", "lines-2"): v for name, v in order_form({"birds": "3"}).items()}

    seen.post(
        f"/orders/{order.pk}/edit/",
        form
        | {name: v for name, v in more.items() if name.startswith("lines-2")}
        | {"lines-TOTAL_FORMS": 3, "lines-0-birds": "9", "lines-1-DELETE": "on"},
    )

    assert sorted(order.lines.values_list("birds", flat=True)) == [3, 9]


def test_taking_every_line_off_is_refused_above_the_form(seen: Client, world: World):
    order = take(world)

    answer = seen.post(f"/orders/{order.pk}/edit/", opened(seen, order) | {"lines-0-DELETE": "on"})

    assert errors(answer) == {"": ["An order has 1 to 30 lines."]}
    assert order.lines.count() == 1


def test_birds_below_those_handed_over_are_refused_at_their_line(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=40)
    order = take(world)
    give(world, order, batch, 12)

    answer = seen.post(f"/orders/{order.pk}/edit/", opened(seen, order) | {"lines-0-birds": "11"})

    assert of_lines(answer) == [{"birds": ["12 birds were handed over already."]}]


def test_a_form_opened_before_somebody_elses_change_is_refused(seen: Client, world: World):
    order = take(world)
    form = opened(seen, order)
    orders.change(world.by, order_id=order.pk, expected_version=order.version, notes="theirs")

    answer = seen.post(f"/orders/{order.pk}/edit/", form | {"notes": "mine"})

    assert errors(answer)[""]
    assert Order.objects.get().notes == "theirs"


def test_a_quote_is_confirmed_by_its_button(seen: Client, world: World):
    order = take(world, status="quote")

    seen.post(f"/orders/{order.pk}/status/", {"status": "confirmed", "version": order.version})

    assert status(order) == "confirmed"


@pytest.mark.parametrize(("word", "code"), [("filled", 422), ("nonsense", 422), ("", 422)])
def test_a_status_that_cannot_be_is_refused(seen: Client, world: World, word: str, code: int):
    order = take(world)

    answer = seen.post(f"/orders/{order.pk}/status/", {"status": word, "version": order.version})

    assert (answer.status_code, status(order)) == (code, "confirmed")


def test_a_button_pressed_on_an_old_page_is_refused(seen: Client, world: World):
    order = take(world, status="quote")
    orders.change(world.by, order_id=order.pk, expected_version=order.version, notes="theirs")

    answer = seen.post(f"/orders/{order.pk}/status/", {"status": "confirmed", "version": order.version})

    assert (answer.status_code, status(order)) == (409, "quote")


def test_cancelling_asks_first_and_the_order_stays(seen: Client, world: World):
    order = take(world, deposit="20 paid")
    before = written()

    asked = said(seen.get(f"/orders/{order.pk}/cancel/"))
    assert "20 birds are no longer promised" in asked
    assert "Deposit: 20 paid" in asked
    assert written() == before

    answer = seen.post(f"/orders/{order.pk}/cancel/", {"version": order.version})

    assert answer.url == "/orders/"
    assert status(order) == "cancelled"


def test_only_a_quote_is_removed(seen: Client, world: World):
    quote, order = take(world, status="quote"), take(world)

    assert seen.post(f"/orders/{quote.pk}/remove/").url == "/orders/"
    assert errors(seen.post(f"/orders/{order.pk}/remove/"))[""]

    assert list(Order.objects.all()) == [order]
