"""No page shows or changes another farm's things, whoever asks. New addresses are swept without being listed here:
one that names something and is not classified in `addresses` fails."""

from __future__ import annotations

import pytest
import time_machine
from django.test import Client

from farm.models import Login
from tests.architecture.addresses import (
    NEUTRAL,
    OPEN,
    OWN_LOGIN,
    THINGS,
    Address,
    addresses,
    counted,
    path,
    things,
)
from tests.conftest import NOON, World

EVERY = addresses()
OF_A_FARM = [one for one in EVERY if one.role is not None]
ABOUT_A_THING = [one for one in OF_A_FARM if one.arguments and one.name not in NEUTRAL]


def named(address: Address) -> str:
    return address.name


@pytest.fixture(autouse=True)
def _at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


def client_of(login: Login) -> Client:
    client = Client()
    client.force_login(login)
    return client


@pytest.fixture(params=["keeper", "helper", "child"])
def member(request: pytest.FixtureRequest, world: World) -> Client:
    """A signed-in member of Hollow Farm in each role."""
    if request.param == "keeper":
        return client_of(world.by.login)
    return client_of(world.add_member("Cara", request.param).login)


@pytest.mark.parametrize("address", EVERY, ids=named)
def test_every_address_is_classified(address: Address):
    assert (address.role is not None) + (address.name in OPEN) + (address.name in OWN_LOGIN) == 1
    if address.role is not None and address.arguments:
        assert (address.name in THINGS) + (address.name in NEUTRAL) == 1


def test_nobody_is_sent_to_sign_in_wherever_they_ask(world: World):
    found = things(world)
    before = counted(world.farm.pk)

    answers = {}
    for address in OF_A_FARM:
        for method in ("get", "post"):
            reply = getattr(Client(), method)(path(address, found))
            # 405: a page that takes no such method says so before it asks who is there.
            sent = reply.status_code == 405 or reply.url.split("?")[0] == "/login/"
            answers[address.name, method] = sent and counted(world.farm.pk) == before

    assert [key for key, sent in answers.items() if not sent] == []
    assert len(answers) == 2 * len(OF_A_FARM) > 300


def test_another_farms_things_are_not_found_by_any_member(member: Client, elsewhere: World):
    found = things(elsewhere)
    before = counted(elsewhere.farm.pk)

    seen = {}
    for address in ABOUT_A_THING:
        for method in ("get", "post"):
            reply = getattr(member, method)(path(address, found))
            seen[address.name, method] = reply.status_code
            assert b"Birds" not in reply.content
            assert b"Far Farm" not in reply.content

    # 403 where the role is refused before anything is looked up, 405 where a page takes no such method.
    assert {key: status for key, status in seen.items() if status not in (403, 404, 405)} == {}
    assert counted(elsewhere.farm.pk) == before


def test_the_keepers_own_things_are_found_at_the_same_addresses(world: World):
    found = things(world)
    client = client_of(world.by.login)

    status = {one.name: client.get(path(one, found)).status_code for one in ABOUT_A_THING}

    assert {name: code for name, code in status.items() if code not in (200, 302, 405)} == {}
    assert list(status.values()).count(200) > len(status) / 2


@pytest.mark.parametrize("role", ["helper", "child"])
def test_a_lower_role_is_refused_plainly_where_the_page_asks_for_a_higher(world: World, role: str):
    found = things(world)
    rank = ["child", "helper", "keeper"]
    client = client_of(world.add_member("Cara", role).login)
    before = counted(world.farm.pk)

    for address in OF_A_FARM:
        if rank.index(str(address.role)) > rank.index(role):
            replies = [getattr(client, method)(path(address, found)) for method in ("get", "post")]
            status = {reply.status_code for reply in replies}
            assert 403 in status, address.name
            assert status <= {403, 405}, address.name

    assert counted(world.farm.pk) == before


def test_a_member_who_left_sees_the_farm_no_more(world: World):
    gone = world.add_member("Cara", "helper")
    gone.member.left_on = world.by.today
    gone.member.save()

    reply = client_of(gone.login).get("/board/")

    assert (reply.status_code, reply.url) == (302, "/start/")
