"""Feed, its cost, days to wait, advice and light as pages of batches and housing show them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine
from django.test import Client

from farm.models import CountEntry, Housing, WaitingTime
from farm.services import housings, observations, waits
from tests.conftest import NOON, TODAY, World
from tests.farm import orders_world
from tests.farm.feed_world import bought, day, opened, starter
from tests.web.hatching_world import errors, said, sign_in


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


@pytest.fixture
def browns(world: World):
    return world.add_batch("Browns", housing="Brooder 1")


def wait(world: World, batch, **fields) -> WaitingTime:
    usual = {"what": "wormer", "given_on": day(-2), "days": 7, "product": "meat"}
    return waits.add(world.by, batch_id=batch.pk, **(usual | fields))


def test_a_batch_says_what_its_feed_costs_and_what_it_lacks(seen: Client, world: World, browns):
    feed = starter(world)
    bought(world, feed, 4, -8, price_cents=8000)
    opened(world, feed, -8)

    page = said(seen.get(f"/batches/{browns.pk}/"))

    assert "Eats of Chick starter" in page
    assert "since 23 April 2026" in page
    assert "No feed in the store serves chicken grower" in page


def test_without_prices_the_page_says_how_to_know(seen: Client, world: World, browns):
    for kind in ("starter", "grower"):
        starter(world, kind, kind=kind)

    assert "What it costs is known once feed is recorded with its price" in said(
        seen.get(f"/batches/{browns.pk}/")
    )


def test_days_to_wait_are_entered_moved_on_changed_and_removed(seen: Client, world: World, browns):
    typed = {"what": "Wormer", "given_on": str(day(-2)), "days": "7", "product": "meat"}
    seen.post(f"/batches/{browns.pk}/waits/new/", typed)
    entered = WaitingTime.objects.get()
    assert "No meat before Wed 6 May : Wormer, 7 days from 29 April" in said(
        seen.get(f"/batches/{browns.pk}/")
    )

    seen.post(f"/waits/{entered.pk}/again/")
    assert "No meat before Fri 8 May" in said(seen.get(f"/batches/{browns.pk}/"))

    stale = seen.post(f"/waits/{entered.pk}/edit/", typed | {"version": str(entered.version)})
    assert errors(stale)[""]
    entered.refresh_from_db()
    seen.post(f"/waits/{entered.pk}/edit/", typed | {"days": "1", "version": str(entered.version)})
    assert "Over since 30 April" in said(seen.get(f"/batches/{browns.pk}/"))

    seen.post(f"/waits/{entered.pk}/remove/")
    assert not WaitingTime.objects.exists()


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"days": ""}, "days"),
        ({"days": "366"}, "days"),
        ({"given_on": str(day(1))}, "given_on"),
        ({"what": ""}, "what"),
    ],
)
def test_days_to_wait_that_cannot_be_are_refused(seen: Client, world: World, browns, typed: dict, field: str):
    usual = {"what": "Wormer", "given_on": str(TODAY), "days": "7", "product": "meat"}

    assert list(errors(seen.post(f"/batches/{browns.pk}/waits/new/", usual | typed))) == [field]
    assert not WaitingTime.objects.exists()


def test_a_sale_before_the_days_are_over_asks_at_a_field_that_is_there_for_it(
    seen: Client, world: World, browns
):
    sale = {"kind": "sold", "birds": "2", "day": str(TODAY)}
    assert "override_reason" not in seen.get(f"/batches/{browns.pk}/count/").context["form"].fields
    wait(world, browns)

    answer = seen.post(f"/batches/{browns.pk}/count/", sale)
    assert list(errors(answer)) == ["override_reason"]
    assert not CountEntry.objects.filter(kind="sold").exists()

    seen.post(f"/batches/{browns.pk}/count/", sale | {"override_reason": "to a breeder"})
    assert CountEntry.objects.get(kind="sold").override_reason == "to a breeder"


def test_the_box_for_quick_words_does_not_get_round_it(seen: Client, world: World, browns):
    wait(world, browns)

    answer = seen.post("/quick/", {"text": "2 sold in Brooder 1", "back": str(browns.pk)}, follow=True)

    assert "a keeper writes the reason" in said(answer)
    assert not CountEntry.objects.filter(kind="sold").exists()


def test_a_hand_over_asks_for_the_reason_too(seen: Client, world: World, browns):
    line = orders_world.take(world, orders_world.line(birds=2, from_on=TODAY)).lines.get()
    wait(world, browns)
    give = {"batch_id": str(browns.pk), "birds": "2", "day": str(TODAY)}

    answer = seen.post(f"/orders/lines/{line.pk}/give/", give)

    assert list(errors(answer)) == ["override_reason"]
    seen.post(f"/orders/lines/{line.pk}/give/", give | {"override_reason": "to a breeder"})
    assert CountEntry.objects.get(kind="sold").override_reason == "to a breeder"


def test_advice_of_what_was_seen_stands_on_both_pages_with_its_cautions(seen: Client, world: World, browns):
    home = world.housing["Brooder 1"]
    observations.add(world.by, kind="behaviour", word="huddled", batch_id=browns.pk, housing_id=home.pk)

    for address in (f"/batches/{browns.pk}/", f"/housing/{home.pk}/"):
        page = said(seen.get(address))
        assert "Warmer :" in page or "Warmer:" in page
        assert "Heat lamps start fires" in page


def test_a_child_is_told_to_fetch_an_adult(client: Client, world: World, browns):
    observations.add(world.by, kind="behaviour", word="huddled", batch_id=browns.pk)
    child = sign_in(client, world.add_member("Emil", "child"))

    with time_machine.travel(NOON, tick=False):
        assert "Tell an adult" in said(child.get(f"/batches/{browns.pk}/"))


def lit(world: World, light: str, latitude: float | None = 52.0) -> Housing:
    world.farm.latitude, world.farm.longitude = latitude, None if latitude is None else 10.0
    world.farm.save()
    home = world.housing["Brooder 1"]
    return housings.change(world.by, housing_id=home.pk, expected_version=None, light=light)


def test_light_is_drawn_over_the_year_with_its_table_and_timer(seen: Client, world: World, browns):
    home = lit(world, "open")

    answer = seen.get(f"/housing/{home.pk}/")
    drawn = answer.context["light"]

    assert len(drawn.months) >= 12
    assert all(month.hours.wanted >= month.hours.natural - 1e-6 for month in drawn.months)
    assert drawn.sun
    assert drawn.lamps
    assert "Lamps on at" in said(answer)


def test_a_closed_house_shows_lamps_alone(seen: Client, world: World, browns):
    drawn = seen.get(f"/housing/{lit(world, 'closed').pk}/").context["light"]

    assert (drawn.closed, drawn.sun) == (True, "")
    assert drawn.lamps


@pytest.mark.parametrize(
    ("light", "latitude", "says"),
    [
        ("", 52.0, None),
        ("open", None, "place is needed"),
        ("open", 68.0, "ask your vet or a local adviser"),
    ],
)
def test_where_light_cannot_be_told_the_page_says_why(
    seen: Client, world: World, browns, light: str, latitude: float | None, says: str | None
):
    page = seen.get(f"/housing/{lit(world, light, latitude).pk}/")

    if says is None:
        assert page.context["light"] is None
    else:
        assert says in said(page)


def test_an_empty_housing_with_a_light_programme_waits_for_birds(seen: Client, world: World):
    assert "No birds live here" in said(seen.get(f"/housing/{lit(world, 'open').pk}/"))
