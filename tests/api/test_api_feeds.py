"""Feed over the API: kinds of feed, the ledger of the store, and what to buy by when."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.husbandry.feeding.factor import prior
from farm.models import Feed, FeedEntry
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import TODAY, World
from tests.farm.feed_world import bought, starter

NEW = {"name": "Chick starter", "kind": "starter", "species": ["chicken"], "bag_kg": 25, "lead_days": 5}
BOUGHT = {"bags": 4, "day": str(TODAY)}


@pytest.fixture
def feed(world: World) -> Feed:
    """Starter for chickens in bags of 25 kg; none in the store."""
    return starter(world)


def test_a_feed_is_added_and_its_store_is_unknown(world: World, program: Program):
    reply = program.post("/feeds/", NEW | {"delivery_weekdays": [1, 4]})

    feed = Feed.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/feeds/{feed.pk}/")
    assert reply.json() == {
        "id": feed.pk,
        "version": 1,
        "name": "Chick starter",
        "kind": "starter",
        "species": ["chicken"],
        "bag_kg": 25.0,
        "lead_days": 5,
        "delivery_weekdays": [1, 4],
        "keeps_days": None,
        "medicated": False,
        "wait_days": None,
        "notes": "",
        "store": {
            "state": "idle",
            "unopened_kg": 0,
            "heaps": [],
            "opened_on": None,
            "rest_kg": 0.0,
            "too_old_kg": 0,
            "daily_kg": 0.0,
            "last_eaten_on": None,
            "factor": pytest.approx(prior().likely),
            "eaters": [],
            "run_out": None,
            "order": None,
        },
    }
    assert program.get(f"/feeds/{feed.pk}/").json() == reply.json()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", " "),
        ("kind", "caviar"),
        ("species", []),
        ("species", ["dodo"]),
        ("bag_kg", 0),
        ("lead_days", 61),
        ("keeps_days", 6),
        ("wait_days", 3),
        ("delivery_weekdays", [7]),
        ("delivery_weekdays", [1, 1]),
    ],
)
def test_what_no_feed_can_be_is_refused_at_its_field(
    world: World, program: Program, field: str, value: object
):
    reply = program.post("/feeds/", NEW | {field: value})

    assert reply.status_code == 422
    assert [place.split("/")[1] for place in wrong(reply)] == [field]
    assert not Feed.objects.exists()


def test_a_change_needs_the_version_that_was_read(feed: Feed, program: Program):
    path = f"/feeds/{feed.pk}/"
    seen = program.get(path)

    assert program.patch(path, {"lead_days": 3}).status_code == 428
    assert program.patch(path, {"lead_days": 3}, seen=seen).json()["lead_days"] == 3
    assert program.patch(path, {"lead_days": 2}, seen=seen).status_code == 412
    assert program.delete(path, seen=seen).status_code == 412
    assert Feed.objects.get().lead_days == 3


def test_only_a_feed_without_a_ledger_is_removed(world: World, feed: Feed, program: Program):
    used = starter(world, "Used")
    bought(world, used, 1)

    assert program.delete(f"/feeds/{used.pk}/", If_Match="*").status_code == 422
    assert program.delete(f"/feeds/{feed.pk}/").status_code == 428
    assert program.delete(f"/feeds/{feed.pk}/", seen=program.get(f"/feeds/{feed.pk}/")).status_code == 204
    assert list(Feed.objects.all()) == [used]


def test_the_store_says_how_long_it_lasts_and_when_to_order(world: World, feed: Feed, program: Program):
    batch = world.add_batch("Wrens", birds=40)
    bought(world, feed, 1)

    store = program.get(f"/feeds/{feed.pk}/").json()["store"]

    assert (store["state"], store["unopened_kg"], store["eaters"]) == ("soon", 25.0, [batch.pk])
    run = store["run_out"]
    assert str(TODAY) < run["early"] <= run["likely"] <= run["late"]
    assert store["order"]["order_on"] < store["order"]["delivered_on"] <= run["early"]
    # 40 chicks of two to three weeks eat 20 to 50 g each a day
    assert 0.8 < store["daily_kg"] < 2.5


def test_the_weeks_ahead_tell_use_shopping_and_what_is_missing(world: World, feed: Feed, program: Program):
    batch = world.add_batch("Wrens", birds=40)
    turkeys = world.add_batch("Poults", programme="turkey_medium", birds=10)
    bought(world, feed, 1)

    told = program.get("/feed/forecast/?days=28").json()

    assert (told["since"], told["until"]) == (str(TODAY), str(TODAY + timedelta(days=28)))
    (use,) = told["use"]
    assert (use["feed_id"], len(use["kg"])) == (feed.pk, 28)
    first = told["shopping"][0]
    assert (first["feed"], first["bag_kg"]) == ("Chick starter", 25.0)
    assert first["bags"] * 25.0 == first["kg"] >= first["eaten_kg"]
    # what is bought and what is there cover the four weeks
    assert sum(one["eaten_kg"] for one in told["shopping"]) + 25 == pytest.approx(sum(use["kg"]), abs=0.5)
    assert [turkeys.pk] in [one["batches"] for one in told["missing"] if one["species"] == "turkey"]
    assert batch.pk not in [
        pk for one in told["missing"] for pk in one["batches"] if one["kind"] == "starter"
    ]


@pytest.mark.parametrize("days", ["6", "93", "soon"])
def test_the_weeks_ahead_are_limited(program: Program, days: str):
    assert wrong(program.get(f"/feed/forecast/?days={days}")).keys() == {"days"}


def test_a_helper_records_and_a_child_only_looks(world: World, feed: Feed):
    helper, child = Program(world.add_member("Eve", "helper")), child_program(world)
    path = f"/feeds/{feed.pk}/entries/"

    assert helper.post("/feeds/", NEW | {"name": "Other"}).status_code == 403
    assert helper.patch(f"/feeds/{feed.pk}/", {"lead_days": 1}, If_Match="*").status_code == 403
    assert helper.delete(f"/feeds/{feed.pk}/", If_Match="*").status_code == 403
    made = helper.post(f"{path}bought/", BOUGHT)
    assert made.json()["member"] == "Eve"
    for line, body in (
        ("bought", {"bags": 1}),
        ("opened", {}),
        ("spoiled", {"kg": 1}),
        ("counted", {"kg": 1}),
    ):
        assert child.post(f"{path}{line}/", body | {"day": str(TODAY)}).status_code == 403
    assert child.post(f"/feed-entries/{made.json()['id']}/reverse/").status_code == 403
    assert child.get(path).status_code == 200
    assert (Feed.objects.count(), FeedEntry.objects.count()) == (1, 1)


def test_a_token_that_records_adds_no_feed(world: World):
    assert Program(world.by, "read", "record").post("/feeds/", NEW).status_code == 403
    assert not Feed.objects.exists()


def test_another_farms_feed_is_not_found(elsewhere: World, program: Program):
    theirs = starter(elsewhere, "Theirs")
    entry = bought(elsewhere, theirs, 1)
    path = f"/feeds/{theirs.pk}/"

    for reply in (
        program.get(path),
        program.patch(path, {"lead_days": 1}, If_Match="*"),
        program.delete(path, If_Match="*"),
        program.get(f"{path}entries/"),
        program.post(f"{path}entries/bought/", BOUGHT),
        program.post(f"{path}entries/opened/", {"day": str(TODAY)}),
        program.post(f"{path}entries/spoiled/", {"day": str(TODAY), "kg": 1}),
        program.post(f"{path}entries/counted/", {"day": str(TODAY), "kg": 1}),
        program.get(f"/feed-entries/{entry.pk}/"),
        program.post(f"/feed-entries/{entry.pk}/reverse/"),
    ):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    assert program.get("/feeds/").json()["items"] == []
    assert (Feed.objects.count(), FeedEntry.objects.count()) == (1, 1)


def test_feeds_are_listed_with_what_runs_out_first_and_the_ledger_newest_first(
    world: World, feed: Feed, program: Program
):
    world.add_batch("Wrens", birds=40)
    starter(world, "Goose starter", species=["goose"])
    for offset in (-2, -1):
        bought(world, feed, 1, offset)

    first = program.get("/feeds/?limit=1").json()
    second = program.get(f"/feeds/?limit=1&cursor={first['next']}").json()
    assert [one["items"][0]["name"] for one in (first, second)] == ["Chick starter", "Goose starter"]
    ledger = program.get(f"/feeds/{feed.pk}/entries/?limit=1").json()
    assert (ledger["items"][0]["after_kg"], ledger["next"] is None) == (50.0, False)


def test_more_feeds_and_lines_take_no_more_queries(world: World, feed: Feed, program: Program):
    def queries(path: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get(path).status_code == 200
        return len(seen)

    paths = ("/feeds/", f"/feeds/{feed.pk}/entries/", "/feed/forecast/")
    world.add_batch("Wrens")
    bought(world, feed, 1)
    queries(paths[0])
    few = [queries(path) for path in paths]
    for number in range(4):
        bought(world, starter(world, f"More {number}"), 1)
        bought(world, feed, 1)
        world.add_batch(f"More {number}")

    assert [queries(path) for path in paths] == few
