"""What a phone sends to the personal page: read carefully, answered one by one, and never without end."""

from __future__ import annotations

import json
from dataclasses import replace
from io import BytesIO
from typing import Any

import pytest
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from farm.models import ChoreMark, MarkPhoto
from farm.models.member import Role
from farm.services import photos
from tests.conftest import NOON, TODAY, World
from tests.web.my_pages import (
    FEED,
    HEAT,
    answers,
    get,
    item,
    line_of,
    link_of,
    press,
    sync,
    text_of,
)


@pytest.fixture(autouse=True)
def _nothing_counted() -> None:
    cache.clear()


@pytest.fixture
def chicks(world: World) -> World:
    """Nine-day-old chicks in Brooder 1."""
    world.add_batch("Spring", age=9, housing="Brooder 1")
    return world


@pytest.fixture
def ada(chicks: World, client: Client) -> Client:
    client.force_login(chicks.by.login)
    return client


@pytest.fixture
def kim(chicks: World) -> str:
    """The address of a child's personal link."""
    return link_of(chicks, chicks.add_member("Kim", Role.CHILD, login=False).member)


def who(chicks: World) -> str:
    return f"member-{chicks.keeper.pk}"


def picture() -> bytes:
    out = BytesIO()
    Image.new("RGB", (60, 40), "green").save(out, "JPEG")
    return out.getvalue()


def test_a_queue_is_answered_one_by_one(ada, chicks):
    line = line_of(get(ada))
    reply = sync(ada, item(line), item(line), item(line, kind="untick"), who=who(chicks))
    assert answers(reply) == [("done", ""), ("already", "You ticked this at 12:00."), ("done", "")]


def test_a_queue_of_somebody_else_is_not_taken(ada, chicks, kim):
    line = line_of(get(ada))
    for other in ("member-999", "link-1", ""):
        reply = sync(ada, item(line), who=other)
        assert reply.status_code == 409
        assert "somebody else" in reply.json()["text"]
    assert not ChoreMark.objects.exists()


def test_a_picture_comes_with_one_thing_at_a_time(ada, chicks):
    line = line_of(get(ada))

    def send(*items: dict[str, Any]) -> Any:
        photo = SimpleUploadedFile("p.jpg", picture(), "image/jpeg")
        sent = json.dumps({"who": who(chicks), "items": items})
        return ada.post("/my/sync/", {"sent": sent, "photo": photo})

    assert send(item(), item()).status_code == 400
    assert send().status_code == 400
    assert answers(send(item(line, at=None))) == [("done", "")]
    assert MarkPhoto.objects.count() == 1


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"{",
        b"[]",
        b"null",
        b'{"items": {}}',
        b'{"items": [1]}',
        b'{"items": ["tick"]}',
        b"\xff\xfe",
        b"[" * 100_000,
        b'{"items": ' + b"9" * 5000 + b"}",
    ],
    ids=["empty", "cut", "list", "null", "object", "number", "text", "bytes", "deep", "digits"],
)
def test_what_is_no_queue_is_refused(ada, raw):
    reply = sync(ada, raw=raw, who="")
    assert (reply.status_code, reply.json()) == (400, {"text": "This could not be read."})


def test_too_much_is_refused_before_it_is_read(ada, chicks):
    assert sync(ada, raw=b" " * (512 * 1024 + 1), who="").status_code == 413
    assert sync(ada, *[item()] * 201, who=who(chicks)).status_code == 413
    large = SimpleUploadedFile("p.jpg", b"x" * (photos.MOST_BYTES + 600 * 1024), "image/jpeg")
    assert ada.post("/my/sync/", {"sent": "{}", "photo": large}).status_code == 413
    large.seek(0)
    assert ada.post("/my/", {"photo": large}).status_code == 413


@pytest.mark.parametrize(
    "wrong",
    [
        {"key": None},
        {"key": 7},
        {"key": "k" * 65},
        {"kind": ["tick"]},
        {"due": "soon"},
        {"due": "2026-02-30"},
        {"due": 20260501},
        {"round": "night"},
        {"source": {"$gt": ""}},
        {"kind": "died", "birds": 2**70},
        {"kind": "died", "birds": True, "batch": 1.5},
        {"kind": "died", "birds": 1, "batch": 2**63},
        {"kind": "died", "birds": 1, "batch": -1},
        {"at": "2026-05-03T00:00:00Z"},
    ],
)
def test_one_thing_that_cannot_be_read_is_refused_alone(ada, chicks, wrong):
    line = line_of(get(ada))
    reply = sync(ada, item(line) | {"proof": ""} | wrong, item(line_of(get(ada), HEAT)), who=who(chicks))
    assert [status for status, _ in answers(reply)] in (["refused", "done"],)


@pytest.mark.parametrize(
    "at", [None, 5, "yesterday", "", "0001-01-01T00:00:00+23:59", "9999-12-31T23:59:59-23:59"]
)
def test_a_time_that_cannot_be_read_is_now(ada, chicks, at):
    assert answers(sync(ada, item(line_of(get(ada)), at=at), who=who(chicks))) == [("done", "")]
    assert ChoreMark.objects.get().at == NOON


def test_words_a_database_cannot_hold_are_made_so(ada, chicks):
    note = "lamp\x00 \ud83d hot"
    assert answers(sync(ada, item(line_of(get(ada)), note=note), who=who(chicks))) == [("done", "")]
    assert ChoreMark.objects.get().note == "lamp ? hot"


def test_ten_thousand_ticks_a_minute_stop_at_three_hundred_and_stop_nobody_else(ada, chicks, kim):
    statuses = []
    for n in range(50):
        things = [
            item(key=f"{n}-{m}", source="room:9/look", due="2026-05-01", round="morning") for m in range(200)
        ]
        reply = sync(ada, *things, who=who(chicks))
        statuses.append(reply.status_code)
    assert statuses == [200] + [429] * 49
    assert 1 <= int(reply["Retry-After"]) <= 60
    assert not ChoreMark.objects.exists()
    stranger = Client()
    page = get(stranger, kim)
    assert answers(sync(stranger, item(line_of(page)), who=page["X-My-Who"], base=kim)) == [("done", "")]
    assert press(ada, line_of(page)).status_code == 429


def test_over_a_link_nobody_elses_chore_is_ticked(chicks, kim, client):
    page = get(client, kim)
    evening = line_of(page, round="evening")
    heat = f"room:{chicks.housing['Brooder 1'].pk}/heat_check"
    things = [
        item(source=heat, due=TODAY.isoformat(), round="morning", title="Heat"),
        item(source="room:999/feed_water", due=TODAY.isoformat(), round="morning"),
        item(replace(evening, proof="forged"), minutes=1, title="Other"),
    ]
    found = answers(sync(client, *things, who=page["X-My-Who"], base=kim))
    assert found == [("refused", "This is not one of your chores.")] * 2 + [("done", "")]
    mark = ChoreMark.objects.get()
    assert (mark.title, mark.minutes) == (FEED, evening.line.minutes)  # the plan's words, not the sender's


def test_another_farms_link_and_ids_open_nothing(chicks, kim, client, elsewhere):
    elsewhere.add_housing("Far pen")
    elsewhere.add_batch("Far birds", age=9, housing="Far pen")
    other = Client()
    other.force_login(elsewhere.by.login)
    theirs = line_of(get(other), "Far pen: Feed and water")
    page = get(client, kim)
    assert "Far pen" not in text_of(page)
    assert answers(sync(client, item(theirs), who=page["X-My-Who"], base=kim))[0][0] == "refused"
    assert answers(sync(other, item(line_of(page)), who=get(other)["X-My-Who"]))[0][0] == "refused"
    assert not ChoreMark.objects.exists()


@pytest.mark.parametrize("address", ["/my/sync/", "/my/swaps/offer/"])
def test_what_writes_is_posted(ada, address):
    assert get(ada, address).status_code == 405
