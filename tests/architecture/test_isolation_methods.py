"""No page shows or changes another farm's things by any other method; task lists, links and support neither."""

from __future__ import annotations

import base64
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.contrib import admin
from django.core.cache import cache
from django.test import Client
from django.urls import URLPattern, URLResolver, reverse

from calendars.dav import passwords
from farm.models import HistoryEntry, Login
from farm.services import personal_links
from tests.architecture.addresses import OPEN, THINGS, addresses, counted, path, things
from tests.conftest import NOON, World

#: Everything but GET and POST, which test_isolation sweeps.
METHODS = ("HEAD", "OPTIONS", "PUT", "PATCH", "DELETE", "PROPFIND", "REPORT")
#: One that nobody has classified fails in test_isolation.
ABOUT_A_THING = [one for one in addresses() if one.role is not None and one.name in THINGS]
OF_A_FARM = [one for one in addresses() if one.role and (one.name in THINGS or not one.arguments)]
ELSEWHERE = (b"Birds", b"Far Farm", b"bea@example.org")


@pytest.fixture(autouse=True)
def _at_noon() -> Iterator[None]:
    cache.clear()
    with time_machine.travel(NOON, tick=False):
        yield


def client_of(login: Login | None) -> Client:
    client = Client()
    if login is not None:
        client.force_login(login)
    return client


@pytest.fixture(params=["keeper", "helper", "child", "nobody"])
def asker(request: pytest.FixtureRequest, world: World) -> Client:
    """A member of Hollow Farm in each role, then somebody who is not signed in."""
    if request.param == "nobody":
        return client_of(None)
    return client_of(
        world.by.login if request.param == "keeper" else world.add_member("Cara", request.param).login
    )


def kept_out(reply: Any) -> bool:
    """Say whether an answer gave nothing: refused, not found, no such method, or led to the sign-in."""
    led = reply.status_code == 302 and reply.url.split("?")[0] == "/login/"
    return led or reply.status_code in (401, 403, 404, 405)


def ask(client: Client, method: str, where: str) -> Any:
    return client.generic(method, where, b"x=1", content_type="application/x-www-form-urlencoded")


def test_another_farms_things_answer_to_no_method_of_anybody(asker: Client, elsewhere: World):
    found = things(elsewhere)
    before = counted(elsewhere.farm.pk), HistoryEntry.objects.count()

    let_in = {}
    for address in ABOUT_A_THING:
        for method in METHODS:
            reply = ask(asker, method, path(address, found))
            if not kept_out(reply) or any(word in reply.content for word in ELSEWHERE):
                let_in[address.name, method] = reply.status_code

    assert let_in == {}
    assert len(ABOUT_A_THING) > 80
    assert (counted(elsewhere.farm.pk), HistoryEntry.objects.count()) == before


def test_a_members_own_farm_is_not_changed_by_a_method_that_no_page_has(world: World):
    found = things(world)
    client = client_of(world.by.login)
    before = counted(world.farm.pk), HistoryEntry.objects.count()

    status = {
        (address.name, method): ask(client, method, path(address, found)).status_code
        for address in OF_A_FARM
        for method in ("PUT", "PATCH", "DELETE", "PROPPATCH", "MOVE")
    }

    assert {key: code for key, code in status.items() if code not in (403, 404, 405)} == {}
    assert (counted(world.farm.pk), HistoryEntry.objects.count()) == before


SECRETS = {
    "calendar": {"secret": "x" * 32},
    "invitation": {"secret": "x" * 32},
    "my-link": {"link": "x" * 32},
    "my-link-sync": {"link": "x" * 32},
    "my-link-manifest": {"link": "x" * 32},
    "password-reset-confirm": {"uidb64": "MQ", "token": "x-y"},
}


@pytest.mark.parametrize("name", [name for name in OPEN if name in SECRETS])
@pytest.mark.parametrize("method", ["GET", "POST", *METHODS])
def test_an_address_whose_secret_is_wrong_opens_nothing(elsewhere: World, name: str, method: str):
    before = counted(elsewhere.farm.pk)

    reply = ask(Client(), method, reverse(name, kwargs=SECRETS[name]))

    # 200: the page that says that a letter's link is used up.
    assert reply.status_code in (400, 403, 404, 405) or name == "password-reset-confirm"
    assert not any(word in reply.content for word in ELSEWHERE)
    assert counted(elsewhere.farm.pk) == before


def test_every_open_address_with_an_argument_is_tried_with_a_wrong_one():
    with_arguments = {one.name for one in addresses() if one.name in OPEN and one.arguments}
    assert with_arguments - {"api-nothing"} == set(SECRETS)


@pytest.mark.parametrize(
    "method", ["GET", "PUT", "DELETE", "PROPFIND", "REPORT", "POST", "MKCALENDAR", "MOVE"]
)
def test_a_task_app_finds_another_farms_lists_by_no_method(world: World, elsewhere: World, method: str):
    things(elsewhere)
    _password, secret = passwords.make(world.by, member_id=world.keeper.pk, label="tasks")
    signed = base64.b64encode(f"{passwords.user_name(world.keeper)}:{secret}".encode()).decode()
    theirs = f"/dav/{passwords.user_name(elsewhere.keeper)}/"
    before = counted(elsewhere.farm.pk)

    for where in (theirs, f"{theirs}rounds/", f"{theirs}rounds/{'0' * 32}.ics"):
        reply = Client().generic(method, where, b"<x/>", headers={"authorization": f"Basic {signed}"})
        assert reply.status_code in (403, 404, 405)
        assert not any(word in reply.content for word in ELSEWHERE)
        nobody = Client().generic(method, where, b"<x/>")
        assert nobody.status_code == 401

    assert counted(elsewhere.farm.pk) == before


def test_a_personal_link_writes_nothing_about_another_farms_things(world: World, elsewhere: World):
    found = things(elsewhere)
    secret = personal_links.make(world.by, member_id=world.keeper.pk, label="phone")
    before = counted(elsewhere.farm.pk)
    items = [
        {
            "key": f"key{n}-0123456789",
            "kind": kind,
            "source": f"room:{found['housing'].pk}/look",
            "due": "2026-05-01",
            "round": "morning",
            "title": "x",
            "at": NOON.isoformat(),
            "batch": found["batch"].pk,
            "housing": found["housing"].pk,
            "birds": 1,
        }
        for n, kind in enumerate(("done", "died", "undone", "skip"))
    ]

    reply = Client().post(f"/my/{secret}/sync/", {"who": "", "items": items}, content_type="application/json")

    assert not any(word in reply.content for word in ELSEWHERE)
    assert counted(elsewhere.farm.pk) == before


def support_addresses() -> list[str]:
    """Return every address of the support pages, with the number 1 for whatever it is about."""

    def walk(patterns: list[Any], before: str) -> Iterator[str]:
        for pattern in patterns:
            if isinstance(pattern, URLResolver):
                yield from walk(pattern.url_patterns, before + str(pattern.pattern))
            elif isinstance(pattern, URLPattern):
                yield before + str(pattern.pattern)

    found = walk(admin.site.urls[0], "/admin/")
    filled = ["".join("1" if at % 2 else part for at, part in enumerate(_split(one))) for one in found]
    return [one.replace("^", "").replace("$", "").replace("\\Z", "") for one in filled]


def _split(route: str) -> list[str]:
    """Return the parts of a route, those between < and > at the odd places."""
    return [part for piece in route.split("<") for part in piece.split(">")]


def test_only_support_gets_into_the_support_pages(asker: Client, world: World):
    where = [
        one
        for one in support_addresses()
        if "(?P" not in one and one not in ("/admin/login/", "/admin/logout/")
    ]
    assert len(where) > 100
    for address in where:
        for method in ("GET", "POST", "PUT", "DELETE"):
            reply = ask(asker, method, address)
            led = reply.status_code == 302 and reply.url.startswith(("/admin/login/", "/login/"))
            assert led or reply.status_code in (403, 404, 405), (address, method, reply.status_code)


def test_a_member_at_the_door_of_the_support_pages_is_told_so_plainly(world: World):
    reply = client_of(world.by.login).get("/admin/", follow=True)
    assert reply.status_code == 403
    assert "These pages are for support." in reply.content.decode()
