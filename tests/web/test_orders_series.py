"""Orders that repeat: taken, changed one or all, ended, and what they take of the housing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Order, OrderSeries
from farm.services import orders, series
from tests.conftest import NOON, World
from tests.web.orders_pages import day, errors, said, sign_in


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def typed(**fields: Any) -> dict[str, Any]:
    usual = {
        "customer": "Brook House",
        "birds": "10",
        "programme": "chicken_layer_brown",
        "age_from_days": "6 weeks",
        "age_to_days": "8 weeks",
        "every_weeks": "2",
        "first_on": day(7).isoformat(),
        "last_on": day(35).isoformat(),
        "window_days": "3",
        "sex": "any",
        "priority": "2",
    }
    return usual | fields


def taken(seen: Client, **fields: Any) -> OrderSeries:
    answer = seen.post("/orders/series/new/", typed(**fields))
    assert answer.status_code == 302, errors(answer)
    return OrderSeries.objects.get()


def test_each_of_its_days_is_an_order(seen: Client, world: World):
    repeating = taken(seen)

    page = said(seen.get(f"/orders/series/{repeating.pk}/"))

    assert list(Order.objects.order_by("series_on").values_list("series_on", flat=True)) == [
        day(7),
        day(21),
        day(35),
    ]
    assert "10 birds, 6 to 8 weeks old" in page
    assert "every 2 weeks" in page
    assert "3 orders still to come" in said(seen.get("/orders/series/"))


def test_refusals_stand_at_their_fields(seen: Client, world: World):
    answer = seen.post(
        "/orders/series/new/",
        typed(last_on=day(1).isoformat(), age_to_days="1 week", every_weeks="0", customer=""),
    )
    past = seen.post("/orders/series/new/", typed(first_on=day(-1).isoformat()))

    assert set(errors(answer)) == {"last_on", "age_to_days", "every_weeks", "customer"}
    assert list(errors(past)) == ["first_on"]
    assert not OrderSeries.objects.exists()


def test_changing_all_leaves_one_changed_by_itself(seen: Client, world: World):
    repeating = taken(seen)
    first, alone, last = Order.objects.order_by("series_on")
    orders.change(world.by, order_id=alone.pk, expected_version=alone.version, notes="two crates")

    seen.post(f"/orders/series/{repeating.pk}/edit/", typed(birds="12", version=repeating.version))

    assert [order.lines.get().birds for order in (first, alone, last)] == [12, 10, 12]
    page = said(seen.get(f"/orders/series/{repeating.pk}/"))
    assert "changed by itself" in page
    assert "You change this one order alone." in said(seen.get(f"/orders/{first.pk}/edit/"))


def test_a_series_form_opened_before_anothers_change_is_refused(seen: Client, world: World):
    repeating = taken(seen)
    series.change(world.by, series_id=repeating.pk, expected_version=repeating.version, birds=11)

    answer = seen.post(f"/orders/series/{repeating.pk}/edit/", typed(version=repeating.version))

    assert errors(answer)[""]


def test_ending_early_takes_the_orders_after_the_day(seen: Client, world: World):
    repeating = taken(seen)

    assert "End the repeating order" in said(seen.get(f"/orders/series/{repeating.pk}/end/"))
    seen.post(
        f"/orders/series/{repeating.pk}/end/",
        {"last_on": day(21).isoformat(), "version": repeating.version},
    )

    assert Order.objects.count() == 2


def test_removing_asks_first(seen: Client, world: World):
    repeating = taken(seen)

    assert "Remove the repeating order of Brook House?" in said(
        seen.get(f"/orders/series/{repeating.pk}/remove/")
    )
    assert Order.objects.count() == 3
    seen.post(f"/orders/series/{repeating.pk}/remove/")
    assert not OrderSeries.objects.exists()
    assert not Order.objects.exists()


def test_the_law_and_the_planner_say_how_many_brooders_it_takes(seen: Client, world: World):
    repeating = taken(seen)
    brooder, pen = world.housing["Brooder 1"], world.housing["Pen 1"]

    answer = seen.get(f"/orders/series/{repeating.pk}/?housing={brooder.pk}")

    rhythm = answer.context["rhythm"]
    assert 1 <= rhythm.bound <= rhythm.needed
    assert rhythm.days <= repeating.age_from_days
    assert str(rhythm.sentence()) in said(answer)
    later = seen.get(f"/orders/series/{repeating.pk}/?housing={pen.pk}").context["rhythm"]
    assert later.days + rhythm.days == repeating.age_from_days


def test_day_olds_take_no_housing(seen: Client, world: World):
    repeating = taken(seen, age_from_days="0", age_to_days="2 days")

    assert "they take no housing" in said(seen.get(f"/orders/series/{repeating.pk}/"))


@pytest.mark.parametrize("housing", ["999999", "x"])
def test_housing_that_is_not_ours_is_not_found(seen: Client, world: World, housing: str):
    repeating = taken(seen)

    assert seen.get(f"/orders/series/{repeating.pk}/?housing={housing}").status_code == 404


def test_another_farms_series_is_not_found(seen: Client, elsewhere: World):
    theirs = series.add(
        elsewhere.by,
        new=series.NewSeries(
            customer="X",
            programme="duck",
            birds=1,
            age_from_days=0,
            age_to_days=3,
            every_weeks=1,
            first_on=day(1),
            last_on=day(1),
        ),
    )

    for page in ("", "edit/", "end/", "remove/"):
        assert seen.get(f"/orders/series/{theirs.pk}/{page}").status_code == 404
