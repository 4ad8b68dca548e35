"""The ledger of a feed over the API: bought, opened, spoiled, counted anew, taken back."""

from __future__ import annotations

import pytest

from farm.models import Feed, FeedEntry
from tests.api.api_world import Program, wrong
from tests.conftest import TODAY, World
from tests.farm.feed_world import bought, opened, starter

BOUGHT = {"bags": 4, "day": str(TODAY)}


@pytest.fixture
def feed(world: World) -> Feed:
    """Starter for chickens in bags of 25 kg; none in the store."""
    return starter(world)


def test_bags_bought_are_a_line_with_what_is_there_then(feed: Feed, program: Program):
    reply = program.post(
        f"/feeds/{feed.pk}/entries/bought/",
        BOUGHT | {"milled_on": "2026-04-20", "price_cents": 6400, "note": "mill"},
    )

    entry = FeedEntry.objects.get()
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/feed-entries/{entry.pk}/")
    assert reply.json() == {
        "id": entry.pk,
        "feed_id": feed.pk,
        "kind": "bought",
        "kg": 100.0,
        "day": str(TODAY),
        "after_kg": 100.0,
        "struck": False,
        "milled_on": "2026-04-20",
        "price_cents": 6400,
        "note": "mill",
        "reverses_id": None,
        "member": "Ada",
        "created_at": "2026-05-01T10:00:00Z",
    }
    assert program.get(f"/feed-entries/{entry.pk}/").json() == reply.json()


def test_feed_is_opened_spoiled_and_counted(world: World, feed: Feed, program: Program):
    bought(world, feed, 4, -2)
    path = f"/feeds/{feed.pk}/entries/"

    lines = [
        program.post(f"{path}opened/", {"day": str(TODAY)}),
        program.post(f"{path}spoiled/", {"day": str(TODAY), "kg": 2.5}),
        program.post(f"{path}counted/", {"day": str(TODAY), "kg": 70}),
    ]

    assert [line.status_code for line in lines] == [201, 201, 201]
    told = [(line.json()["kind"], line.json()["kg"], line.json()["after_kg"]) for line in lines]
    assert told == [("opened", -25.0, 75.0), ("spoiled", -2.5, 72.5), ("correction", -2.5, 70.0)]
    assert program.post(f"{path}counted/", {"day": str(TODAY), "kg": 70}).status_code == 204
    assert FeedEntry.objects.count() == 4


@pytest.mark.parametrize(
    ("line", "body", "field"),
    [
        ("bought", {}, "bags"),
        ("bought", {"bags": 1, "kg": 5}, "bags"),
        ("bought", {"bags": 1001}, "bags"),
        ("bought", {"kg": 40_000}, "kg"),
        ("bought", {"bags": 1, "milled_on": "2026-05-02"}, "milled_on"),
        ("bought", {"bags": 1, "price_cents": 10_000_001}, "price_cents"),
        ("bought", {"bags": 1, "day": "2026-05-02"}, "day"),
        ("opened", {"bags": 2}, "bags"),
        ("opened", {"bags": 0}, "bags"),
        ("spoiled", {"kg": 26}, "kg"),
        ("spoiled", {"kg": 0}, "kg"),
        ("counted", {"kg": -1}, "kg"),
        ("counted", {"kg": "lots"}, "kg"),
    ],
)
def test_a_line_that_cannot_be_is_refused_at_its_field(
    world: World, feed: Feed, program: Program, line: str, body: dict[str, object], field: str
):
    bought(world, feed, 1)

    reply = program.post(f"/feeds/{feed.pk}/entries/{line}/", {"day": str(TODAY)} | body)

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert FeedEntry.objects.count() == 1


def test_the_same_key_again_is_the_same_line(feed: Feed, program: Program):
    path = f"/feeds/{feed.pk}/entries/bought/"

    assert (
        program.post(path, BOUGHT | {"key": "a"}).json() == program.post(path, BOUGHT | {"key": "a"}).json()
    )
    assert FeedEntry.objects.count() == 1


def test_a_line_is_taken_back_once(world: World, feed: Feed, program: Program):
    entry = bought(world, feed, 4)

    reply = program.post(f"/feed-entries/{entry.pk}/reverse/")

    assert (reply.status_code, reply.json()["kg"], reply.json()["reverses_id"]) == (201, -100.0, entry.pk)
    assert program.get(f"/feed-entries/{entry.pk}/").json()["struck"] is True
    assert program.post(f"/feed-entries/{entry.pk}/reverse/").status_code == 422
    assert FeedEntry.objects.count() == 2


def test_what_was_opened_keeps_what_was_bought(world: World, feed: Feed, program: Program):
    entry = bought(world, feed, 1)
    opened(world, feed, 0)

    assert program.post(f"/feed-entries/{entry.pk}/reverse/").status_code == 422
    assert FeedEntry.objects.count() == 2


def test_a_token_needs_the_scope_to_record(world: World, feed: Feed):
    path = f"/feeds/{feed.pk}/entries/bought/"

    assert Program(world.by, "read", "write").post(path, BOUGHT).status_code == 403
    assert Program(world.by, "record").post(path, BOUGHT).status_code == 201
