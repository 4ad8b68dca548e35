"""A calendar read while its farm is changed: never an old body under a new tag, nor the other way round.

The tag is a digest of the bytes, so any mixture shows. After a change is committed, nobody may be given, or told to
keep, a calendar of before it.
"""

from __future__ import annotations

import gzip
import hashlib
import re
from collections.abc import Callable
from threading import Event, Thread

import pytest
import time_machine
from django.db import connections
from django.test import Client

from calendars import building, editions, queries
from calendars import views as calendar_views
from calendars.models import CalendarBody
from farm.services import farms, members
from tests.calendars.conftest import App, subscribe
from tests.conftest import NOON, World, make_world
from tests.races.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)
CHANGES, READERS = 8, 3


@pytest.fixture
def farm(transactional_db: None) -> World:
    world = make_world(name="Farm 0")
    world.add_housing("Brooder 1")
    world.add_batch("Browns", birds=12, age=2, housing="Brooder 1")
    return world


@pytest.fixture
def app(farm: World) -> App:
    return subscribe(farm.by)


def own_tag(octets: bytes) -> str:
    return f'"{hashlib.sha256(octets).hexdigest()[:32]}"'


def number(octets: bytes) -> int:
    """Return which of the farm's names a calendar carries."""
    found = re.search(rb"\r\nNAME:Farm (\d+)\r\n", octets)
    assert found
    return int(found[1])


def rename(world: World, name: str) -> None:
    farms.change(world.by, name=name)


def test_readers_and_a_writer_at_once(farm, app):
    committed, stop, wrong = [0], Event(), []

    def write() -> None:
        try:
            for n in range(1, CHANGES + 1):
                rename(farm, f"Farm {n}")
                committed[0] = n
        finally:
            stop.set()
            connections.close_all()

    def read(zipped: bool) -> Callable[[], None]:
        def run() -> None:
            client, tag, seen = Client(), "", -1
            try:
                while True:
                    last, least = stop.is_set(), committed[0]
                    headers = {"If-None-Match": tag} if tag else {}
                    headers |= {"Accept-Encoding": "gzip"} if zipped else {}
                    response = client.get(app.path, headers=headers)
                    if response.status_code == 200:
                        octets = gzip.decompress(response.content) if zipped else response.content
                        tag, seen = response["ETag"], number(octets)
                        if tag.replace('-gz"', '"') != own_tag(octets):
                            wrong.append(f"a tag on other bytes: {tag}, {seen}")
                    elif response.status_code != 304:
                        wrong.append(f"answered {response.status_code}")
                    if seen < least:
                        wrong.append(f"{response.status_code} with {seen} after {least} was written")
                    if last:
                        return
            finally:
                connections.close_all()

        return run

    with time_machine.travel(NOON, tick=True):
        threads = [Thread(target=write), *(Thread(target=read(n % 2 == 0)) for n in range(READERS))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(timeout=120)
    assert not any(thread.is_alive() for thread in threads)
    assert committed == [CHANGES]
    assert wrong == []


@pytest.mark.parametrize("zipped", [False, True])
def test_a_build_between_reading_the_tag_and_reading_the_bytes(farm, app, monkeypatch, zipped):
    """The moment itself, played out in order: the tag that is sent is that of the bytes that are sent."""
    accept = {"accept_encoding": "gzip"} if zipped else {}
    app.get(**accept)
    matches = calendar_views._matches

    def late(request, etag):
        monkeypatch.setattr(calendar_views, "_matches", matches)
        rename(farm, "Farm 1")
        edition = editions.of(queries.find(app.secret))
        building.build(edition, NOON)
        return matches(request, etag)

    monkeypatch.setattr(calendar_views, "_matches", late)
    response = app.get(**accept)
    octets = gzip.decompress(response.content) if zipped else response.content
    assert response["ETag"].replace('-gz"', '"') == own_tag(octets)
    assert response["Content-Length"] == str(len(response.content))


def test_what_was_known_of_the_member_before_the_lock_is_not_what_is_published(farm):
    helper = farm.add_member("Ben", "helper")
    app = subscribe(helper, scope="mine")
    before = editions.of(queries.find(app.secret))
    members.change(farm.by, member_id=helper.member.pk, expected_version=None, name="Benedict", role="helper")
    building.build(before, NOON)
    assert "Benedict" in app.get().content.decode()


def test_builders_of_one_edition_at_once_store_one_body_with_its_own_tag(farm, app):
    def build() -> None:
        building.build(editions.of(queries.find(app.secret)), NOON)

    assert at_once(*[build] * 4) == [None] * 4
    body = CalendarBody.objects.get()
    assert body.etag == own_tag(bytes(body.octets))
    assert gzip.decompress(bytes(body.zipped)) == bytes(body.octets)
