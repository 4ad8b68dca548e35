"""The pages of feed: what is there, how long it lasts, what to buy, one press for a bag, and a ledger."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import unquote

import pytest
import time_machine
from django.test import Client

from farm.models import Feed, FeedEntry, HistoryEntry
from farm.services import feeds
from tests.conftest import NOON, TODAY, World
from tests.farm.feed_world import bought, day, opened, starter
from tests.web.hatching_world import errors, said, sign_in


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def written() -> tuple[int, ...]:
    return tuple(kind.objects.count() for kind in (Feed, FeedEntry, HistoryEntry))


USUAL = {"name": "Mash", "kind": "starter", "species": ["chicken"], "bag_kg": "25", "lead_days": "5"}


def test_an_empty_store_says_what_to_do_and_what_is_lacking(seen: Client, world: World):
    world.add_batch("Ducklings", programme="duck", age=3)

    page = said(seen.get("/feed/"))

    assert "No feed is listed yet" in page
    assert "No feed in the store serves duck starter" in page
    assert "/feed/new/?kind=starter&amp;species=duck" in seen.get("/feed/").content.decode()


def test_the_link_to_what_is_lacking_opens_a_form_that_needs_a_name_only(seen: Client, world: World):
    form = seen.get("/feed/new/?kind=starter&species=duck").context["form"]

    assert [form[name].value() for name in ("kind", "species", "lead_days")] == ["starter", ["duck"], 5]


def test_a_feed_is_added_and_a_big_bag_is_asked_about_not_refused(seen: Client, world: World):
    answer = seen.post("/feed/new/", USUAL | {"bag_kg": "500"}, follow=True)

    assert Feed.objects.get().bag_kg == 500
    assert "A bag of 500.0 kg is a big bag" in said(answer)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": ""}, "name"),
        ({"bag_kg": "0.4"}, "bag_kg"),
        ({"bag_kg": "1501"}, "bag_kg"),
        ({"bag_kg": "nan"}, "bag_kg"),
        ({"kind": "hay"}, "kind"),
        ({"species": []}, "species"),
        ({"wait_days": "3"}, "wait_days"),
        ({"delivery_weekdays": ["9"]}, "delivery_weekdays"),
    ],
)
def test_a_feed_that_cannot_be_is_refused_at_its_field(seen: Client, world: World, typed: dict, field: str):
    before = written()

    assert list(errors(seen.post("/feed/new/", USUAL | typed))) == [field]
    assert written() == before


def test_pounds_are_kept_as_kilograms(seen: Client, world: World):
    world.farm.units = "us"
    world.farm.save()

    seen.post("/feed/new/", USUAL | {"bag_kg": "50"})

    assert Feed.objects.get().bag_kg == pytest.approx(22.68, abs=0.01)
    assert "50.0 lb" in said(seen.get(f"/feed/{Feed.objects.get().pk}/"))


def test_a_form_opened_earlier_overwrites_nothing(seen: Client, world: World):
    feed = starter(world)
    feeds.change(world.by, feed_id=feed.pk, expected_version=None, lead_days=9)

    answer = seen.post(f"/feed/{feed.pk}/edit/", USUAL | {"version": str(feed.version)})

    assert errors(answer)[""]
    assert Feed.objects.get().lead_days == 9


def test_the_store_says_how_long_it_lasts_and_when_to_order(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")
    feed = starter(world)
    bought(world, feed, 1)

    page = said(seen.get("/feed/"))

    assert "25 kg unopened" in page
    assert "Lasts until about" in page
    assert "Order by" in page
    assert "Eaten by Browns" in page


def test_one_press_opens_a_bag_and_a_second_press_of_the_same_button_nothing(seen: Client, world: World):
    feed = starter(world)
    bought(world, feed, 2)
    press = {"bags": "1", "day": str(TODAY), "client_key": f"{seen.get('/feed/').context['key']}-{feed.pk}"}

    for _times in range(2):
        answer = seen.post(f"/feed/{feed.pk}/open/", press, follow=True)

    assert FeedEntry.objects.filter(kind="opened").count() == 1
    assert "Chick starter: 25.0 kg unopened in the store" in said(answer)


def test_opening_from_an_empty_store_says_what_there_is(seen: Client, world: World):
    feed = starter(world)

    answer = seen.post(f"/feed/{feed.pk}/open/", {"bags": "1", "day": str(TODAY)})

    assert errors(answer) == {
        "bags": [
            "There is no unopened Chick starter in the store that day. Record what was bought, or count it anew."
        ]
    }


@pytest.mark.parametrize(
    ("page", "typed", "field"),
    [
        ("buy", {}, "bags"),
        ("buy", {"bags": "1", "kg": "2"}, "bags"),
        ("buy", {"bags": "1", "price": "-0.01"}, "price"),
        ("buy", {"bags": "1", "price": "100000.01"}, "price"),
        ("buy", {"bags": "1", "price": "1.005"}, "price"),
        ("buy", {"bags": "1", "milled_on": str(day(1))}, "milled_on"),
        ("buy", {"bags": "1", "day": str(day(1))}, "day"),
        ("buy", {"bags": "1", "day": "31 February"}, "day"),
        ("spoil", {"kg": "26"}, "kg"),
        ("spoil", {"kg": "0"}, "kg"),
        ("count", {"kg": "-1"}, "kg"),
        ("open", {"bags": "2"}, "bags"),
    ],
)
def test_a_line_that_cannot_be_is_refused_at_its_field(
    seen: Client, world: World, page: str, typed: dict, field: str
):
    feed = starter(world)
    bought(world, feed, 1)
    before = written()

    answer = seen.post(f"/feed/{feed.pk}/{page}/", {"day": str(TODAY)} | typed)

    assert list(errors(answer)) == [field]
    assert written() == before


def test_a_price_is_kept_to_the_cent(seen: Client, world: World):
    feed = starter(world)

    seen.post(f"/feed/{feed.pk}/buy/", {"bags": "2", "day": str(TODAY), "price": "39.99"})

    assert FeedEntry.objects.get().price_cents == 3999
    assert "for 39.99" in said(seen.get(f"/feed/{feed.pk}/"))


def test_the_ledger_is_counted_along_and_a_line_is_taken_back(seen: Client, world: World):
    feed = starter(world)
    bought(world, feed, 2, -3)
    opened(world, feed, -1)
    line = feed.entries.get(kind="opened")

    seen.post(f"/feed/entries/{line.pk}/reverse/")
    page = said(seen.get(f"/feed/{feed.pk}/"))

    assert "bag opened (taken back)" in page
    assert "+50.0 kg 50.0 kg" in page
    assert "−25.0 kg 25.0 kg" in page


def test_a_medicated_feed_that_is_opened_asks_for_days_to_wait(seen: Client, world: World):
    browns = world.add_batch("Browns", housing="Brooder 1")
    feed = starter(world, medicated=True, wait_days=4)
    bought(world, feed, 1)

    page = seen.post(f"/feed/{feed.pk}/open/", {"bags": "1", "day": str(TODAY)}, follow=True)

    assert "This feed is medicated. Write down days to wait" in said(page)
    assert "Medicated feed" in said(page)
    link = f"/batches/{browns.pk}/waits/new/?feed={feed.pk}"
    assert link in page.content.decode()
    form = seen.get(link).context["form"]
    assert [form[name].value() for name in ("what", "days", "given_on")] == ["Chick starter", 4, TODAY]


def test_where_nobody_typed_days_to_wait_none_are_made_up(seen: Client, world: World):
    browns = world.add_batch("Browns", housing="Brooder 1")
    feed = starter(world, medicated=True)

    form = seen.get(f"/batches/{browns.pk}/waits/new/?feed={feed.pk}").context["form"]

    assert form["days"].value() is None
    assert errors(
        seen.post(
            f"/batches/{browns.pk}/waits/new/", {"what": "x", "given_on": str(TODAY), "product": "meat"}
        )
    )


def test_the_shopping_list_can_be_sent_as_it_stands(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")
    bought(world, starter(world, "Mash & grit"), 1)

    page = seen.get("/feed/shopping/?weeks=8")
    address = page.context["mailto"]

    assert address.startswith("mailto:?subject=Hollow%20Farm%3A%20Feed%20for%208%20weeks&body=")
    assert "Mash & grit: 1 bag of 25.0 kg by" in unquote(address)
    assert address.count("&") == 1  # a name's own & does not end the letter
    assert "bag of 25.0 kg by" in said(page)


@pytest.mark.parametrize("weeks", ["3", "", "x", "-8"])
def test_other_numbers_of_weeks_show_the_usual_list(seen: Client, world: World, weeks: str):
    assert seen.get("/feed/shopping/", {"weeks": weeks}).context["weeks"] == 4


def test_a_child_looks_and_presses_nothing(client: Client, world: World):
    feed = starter(world)
    bought(world, feed, 1)
    child = sign_in(client, world.add_member("Emil", "child"))

    with time_machine.travel(NOON, tick=False):
        assert "Opened a bag" not in said(child.get("/feed/"))
        assert child.post(f"/feed/{feed.pk}/open/", {"bags": "1", "day": str(TODAY)}).status_code == 403


def test_only_an_unused_feed_is_removed(seen: Client, world: World):
    used, spare = starter(world), starter(world, "Spare")
    bought(world, used, 1)

    seen.post(f"/feed/{spare.pk}/remove/")
    answer = seen.post(f"/feed/{used.pk}/remove/")

    assert list(Feed.objects.all()) == [used]
    assert "stays in the records" in said(answer)
