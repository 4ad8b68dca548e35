"""The pages where app passwords of task apps are made, shown once and switched off."""

from __future__ import annotations

import re

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from calendars.dav import passwords
from calendars.dav.models import AppPassword
from farm.models import HistoryEntry
from tests.conftest import NOON, World

PAGE = "/calendars/task-apps/"


@pytest.fixture(autouse=True)
def _at_noon():
    cache.clear()
    with time_machine.travel(NOON, tick=False):
        yield


def client_of(by) -> Client:
    client = Client()
    client.force_login(by.login)
    return client


@pytest.fixture
def ada(world: World) -> Client:
    return client_of(world.by)


def made_by(client: Client, **typed) -> str:
    """Return the secret that the answer shows."""
    page = client.post(PAGE, {"label": "my phone"} | typed).content.decode()
    (secret,) = re.findall(r"(?:[a-z2-9]{4}-){6}[a-z2-9]{4}", page)
    return secret


def test_a_password_is_made_and_shown_once_with_all_an_app_asks_for(ada, world, settings):
    settings.ADDRESS = "https://hens.example"
    response = ada.post(PAGE, {"label": "my phone", "member_id": world.keeper.pk})
    page = response.content.decode()
    for said in ("https://hens.example/dav/", passwords.user_name(world.keeper), "my phone"):
        assert said in page
    assert "not encrypted" not in page
    assert "no-store" in response["Cache-Control"]
    (secret,) = re.findall(r"(?:[a-z2-9]{4}-){6}[a-z2-9]{4}", page)
    assert passwords.opened(passwords.user_name(world.keeper), secret) == AppPassword.objects.get()
    assert secret not in ada.get(PAGE).content.decode()
    assert secret not in " ".join(HistoryEntry.objects.values_list("summary", flat=True))


def test_without_tls_the_page_says_so(ada, world, settings):
    settings.ADDRESS = "http://barn.local:8000"
    page = ada.post(PAGE, {"label": "my phone", "member_id": world.keeper.pk}).content.decode()
    assert "not encrypted" in page


def test_a_helper_makes_their_own_and_is_not_asked_whose(world):
    hal = world.add_member("Hal", "helper")
    client = client_of(hal)
    assert "member_id" not in client.get(PAGE).content.decode()
    made_by(client, member_id=world.keeper.pk)
    assert AppPassword.objects.get().member == hal.member


def test_a_child_with_a_login_may_make_one_too(world):
    kim = world.add_member("Kim", "child")
    made_by(client_of(kim))
    assert AppPassword.objects.get().member == kim.member


def test_a_keeper_makes_one_for_a_child_without_a_login(ada, world):
    kim = world.add_member("Kim", "child", login=False)
    made_by(ada, member_id=kim.member.pk)
    assert AppPassword.objects.get().member == kim.member


def test_a_keeper_sees_all_of_the_farm_and_others_their_own(ada, world, elsewhere):
    hal = world.add_member("Hal", "helper")
    for by, label in ((world.by, "Ada's own"), (hal, "Hal's own"), (elsewhere.by, "Bea's own")):
        passwords.make(by, member_id=by.member.pk, label=label)
    seen = ada.get(PAGE).content.decode()
    assert ("Ada&#x27;s own" in seen, "Hal&#x27;s own" in seen, "Bea&#x27;s own" in seen) == (
        True,
        True,
        False,
    )
    seen = client_of(hal).get(PAGE).content.decode()
    assert ("Ada&#x27;s own" in seen, "Hal&#x27;s own" in seen) == (False, True)


def test_one_is_switched_off_after_asking(ada, world):
    secret = made_by(ada, member_id=world.keeper.pk)
    url = reverse("dav-password-off", args=[AppPassword.objects.get().pk])
    assert "my phone" in ada.get(url).content.decode()
    assert passwords.opened(passwords.user_name(world.keeper), secret)
    response = ada.post(url)
    assert (response.status_code, response["Location"]) == (302, PAGE)
    assert passwords.opened(passwords.user_name(world.keeper), secret) is None
    assert "1 switched off" in ada.get(PAGE).content.decode()


def test_anothers_is_not_found_for_helpers(world):
    made, _secret = passwords.make(world.by, member_id=world.keeper.pk, label="x")
    client = client_of(world.add_member("Hal", "helper"))
    url = reverse("dav-password-off", args=[made.pk])
    assert (client.get(url).status_code, client.post(url).status_code) == (404, 404)
    assert AppPassword.objects.get().revoked_at is None


def test_a_form_without_a_name_comes_back_with_its_message(ada, world):
    page = ada.post(PAGE, {"label": "", "member_id": world.keeper.pk})
    assert page.status_code == 200
    assert not AppPassword.objects.exists()
    assert "refused" in page.content.decode()


def test_the_calendars_page_leads_here(ada):
    assert PAGE in ada.get(reverse("calendar-links")).content.decode()
