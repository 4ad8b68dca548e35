"""The pages of leaving for good: what they say, what they ask for, and what a closed farm still shows."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from farm.models import Farm, Login, Member
from farm.services import members
from farm.services.farewell import farms, logins
from tests.architecture.addresses import NEUTRAL, THINGS, Address, addresses, path, things
from tests.conftest import NOON, TODAY, World

PASSWORD = "correct horse battery"


@pytest.fixture(autouse=True)
def _at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def ada(world: World, client: Client) -> Client:
    client.force_login(world.keeper.login)
    return client


def words(reply) -> str:
    return " ".join(reply.content.decode().split())


def test_settings_and_password_pages_lead_there(world: World, ada: Client):
    settings = words(ada.get(reverse("settings")))
    for name in ("farm-close", "login-give-up"):
        assert f'href="{reverse(name)}"' in settings
    assert f'href="{reverse("login-give-up")}"' in words(ada.get(reverse("password-change")))
    assert f'href="{reverse("members-left")}"' in words(ada.get(reverse("members")))


def test_helpers_are_not_offered_to_close_the_farm(world: World, client: Client):
    client.force_login(world.add_member("Hal", "helper").login)
    assert reverse("farm-close") not in words(client.get(reverse("settings")))


def test_closing_says_what_goes_and_offers_to_take_everything_first(world: World, ada: Client):
    page = words(ada.get(reverse("farm-close")))

    assert "Close Hollow Farm for good?" in page
    assert "removed after 30 days" in page
    assert 'href="/settings/archive/"' in page


def test_a_wrong_name_closes_nothing(world: World, ada: Client):
    page = words(ada.post(reverse("farm-close"), {"name": "Hollow"}))

    assert "This is not the name of the farm." in page
    assert Farm.objects.get(pk=world.farm.pk).closing_on is None


def test_the_name_closes_it_and_the_next_page_says_until_when(world: World, ada: Client):
    page = words(ada.post(reverse("farm-close"), {"name": "Hollow Farm"}, follow=True))

    assert Farm.objects.get(pk=world.farm.pk).closing_on == TODAY + timedelta(days=30)
    assert "Hollow Farm is closed" in page
    assert "31 May 2026" in page
    assert "Keep the farm" in page


def test_every_page_of_a_closed_farm_leads_to_the_one_that_says_so(world: World, ada: Client):
    found = things(world)
    every = [one for one in addresses() if one.role is not None and known(one)]
    farms.close(world.by, name="Hollow Farm")

    astray = {}
    for address in every:
        reply = ada.get(path(address, found))
        if reply.status_code != 405 and getattr(reply, "url", "") != reverse("farm-closed"):
            astray[address.name] = reply.status_code

    # What a closed farm still shows: that it is closed, and its archive to take along.
    assert astray == {"farm-closed": 200, "archive": 200}


def known(address: Address) -> bool:
    """Say whether it is known what stands in the address; the isolation sweep asks that of every one."""
    return not address.arguments or address.name in THINGS or address.name in NEUTRAL


def test_posting_to_a_closed_farm_changes_nothing(world: World, ada: Client):
    farms.close(world.by, name="Hollow Farm")
    reply = ada.post(reverse("member-new"), {"name": "Late", "role": "helper"})

    assert (reply.status_code, reply.url) == (302, reverse("farm-closed"))
    assert not Member.objects.filter(name="Late").exists()


def test_only_keepers_are_offered_to_keep_it(world: World, client: Client):
    client.force_login(world.add_member("Hal", "helper").login)
    farms.close(world.by, name="Hollow Farm")

    page = words(client.get(reverse("farm-closed")))
    assert "Keep the farm" not in page
    assert "ask a keeper to keep it" in page
    assert client.post(reverse("farm-keep")).status_code == 403
    assert Farm.objects.get(pk=world.farm.pk).closing_on is not None


def test_a_keeper_keeps_it_with_one_button(world: World, ada: Client):
    farms.close(world.by, name="Hollow Farm")
    page = words(ada.post(reverse("farm-keep"), follow=True))

    assert "Hollow Farm is open again, as it was." in page
    assert Farm.objects.get(pk=world.farm.pk).closing_on is None
    assert ada.get(reverse("farm-closed")).url == reverse("today")


def test_whoever_has_another_farm_lands_there(world: World, ada: Client):
    other = farms_of(world.keeper.login, "Zeta Farm")
    farms.close(world.by, name="Hollow Farm")

    assert other.name in words(ada.get(reverse("settings")))


def farms_of(login: Login, name: str) -> Farm:
    from farm.services import farms as beginning

    return beginning.start(login=login, keeper="Ada", name=name, time_zone="UTC", now=NOON, face="page")[0]


def test_those_who_left_are_listed_and_can_be_forgotten(world: World, ada: Client):
    assert "Nobody who has left is remembered by name." in words(ada.get(reverse("members-left")))
    gil = members.add(world.by, name="Gil", role="child")
    members.leave(world.by, member_id=gil.pk)
    assert reverse("member-forget", args=[gil.pk]) in words(ada.get(reverse("members-left")))
    assert "Forget Gil?" in words(ada.get(reverse("member-forget", args=[gil.pk])))

    page = words(ada.post(reverse("member-forget", args=[gil.pk]), follow=True))

    assert "It says “Former member 1” now." in page
    assert "Gil" not in page


def test_whoever_is_there_has_to_leave_first(world: World, ada: Client):
    gil = members.add(world.by, name="Gil", role="child")
    for method in (ada.get, ada.post):
        assert method(reverse("member-forget", args=[gil.pk])).url == reverse("member-leave", args=[gil.pk])
    gil.refresh_from_db()
    assert gil.name == "Gil"


def test_the_only_keeper_reads_what_to_settle_first(world: World, ada: Client):
    page = words(ada.get(reverse("login-give-up")))
    assert "you are the only keeper who can sign in on" in page
    assert "Hollow Farm" in page
    assert "Your password" not in page

    page = words(ada.post(reverse("login-give-up"), {"password": PASSWORD}))
    assert "First settle this" in page
    assert Login.objects.get(pk=world.keeper.login_id).leaving_at is None


def test_a_wrong_password_gives_nothing_up(world: World, client: Client):
    login = Login.objects.create_user("gil@example.org", PASSWORD)
    client.force_login(login)

    page = words(client.post(reverse("login-give-up"), {"password": "guessed"}))

    assert "This is not your password." in page
    login.refresh_from_db()
    assert login.leaving_at is None


def test_giving_up_signs_out_everywhere_and_signing_in_takes_it_back(db: None, client: Client):
    login = Login.objects.create_user("gil@example.org", PASSWORD)
    phone = Client()
    for each in (client, phone):
        each.force_login(login)

    page = words(client.post(reverse("login-give-up"), {"password": PASSWORD}, follow=True))

    assert "Your login is removed on 15 May 2026; sign in before then to keep it." in page
    for each in (client, phone):
        assert each.get(reverse("login-give-up")).url.startswith(reverse("login"))
    login.refresh_from_db()
    assert login.leaving_at == NOON + timedelta(days=14)

    page = words(
        client.post(reverse("login"), {"username": "gil@example.org", "password": PASSWORD}, follow=True)
    )

    assert "Your login is kept: it will not be removed." in page
    login.refresh_from_db()
    assert login.leaving_at is None
    assert logins.due(now=NOON + timedelta(days=15)) == []


def test_a_wrong_password_at_the_door_takes_nothing_back(db: None, client: Client):
    login = Login.objects.create_user("gil@example.org", PASSWORD)
    logins.give_up(login, password=PASSWORD, now=NOON)
    client.post(reverse("login"), {"username": "gil@example.org", "password": "guessed"})

    login.refresh_from_db()
    assert login.leaving_at is not None


def test_guessing_the_password_of_a_login_left_signed_in_is_braked(world: World):
    cache.clear()
    world.add_member("Zoe", "keeper")  # so that Ada may go
    client = Client()
    client.force_login(world.by.login)

    pages = [client.post("/login/give-up/", {"password": f"guess {n}"}).content.decode() for n in range(20)]

    assert "This is not your password." in pages[0]
    assert "Too many tries" in pages[-1]
    client.post("/login/give-up/", {"password": "correct horse battery"})
    world.by.login.refresh_from_db()
    assert world.by.login.leaving_at is None
    cache.clear()
