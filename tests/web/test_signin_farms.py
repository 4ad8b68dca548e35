"""Starting a farm, choosing among several, and joining one by its link."""

from dataclasses import replace

import pytest
from django.core.cache import cache
from django.test import override_settings
from django.urls import reverse

from farm.models import Farm, Login
from farm.services import members
from farm.web import clock
from farm.web.access import FARM_KEY
from tests.conftest import make_world

TYPED = {
    "name": "Hill",
    "keeper": "Cy",
    "email": "cy@example.org",
    "password": "brood by the barn",
    "time_zone": "europe/paris",
    "units": "metric",
}


@pytest.fixture(autouse=True)
def _fresh_brake():
    cache.clear()


@pytest.fixture
def ada(world, client):
    client.force_login(world.keeper.login)
    return client


@pytest.fixture
def secret(world):
    """The link of Finn's invitation, made now: the pages read the real clock."""
    finn = members.add(world.by, name="Finn", role="helper")
    by = replace(world.by, now=clock.now())
    return members.invite(by, member_id=finn.pk, email="finn@example.org")


def test_a_stranger_starts_a_farm_and_a_login_on_one_page(client, db):
    answer = client.post(reverse("start-farm"), TYPED)
    farm = Farm.objects.get()
    assert (answer.status_code, answer.url) == (302, reverse("today"))
    assert (farm.name, farm.time_zone, client.session[FARM_KEY]) == ("Hill", "Europe/Paris", farm.pk)
    assert client.session["_auth_user_id"] == str(Login.objects.get(email="cy@example.org").pk)


@pytest.mark.parametrize(
    "field, value, said",
    [
        ("email", "nonsense", "Enter a valid email address."),
        ("email", "Bea@Example.org", "already has a login"),
        ("password", "12345678", "too common"),
        ("time_zone", "Atlantis", "Choose a time zone from the list"),
        ("name", "", "This field is required."),
        ("keeper", "x" * 81, "at most 80 characters"),
        ("units", "cubits", "not one of the available choices"),
    ],
)
def test_what_cannot_be_right_is_said_at_its_field_and_nothing_typed_is_lost(
    elsewhere, client, field, value, said
):
    answer = client.post(reverse("start-farm"), TYPED | {field: value})
    assert answer.status_code == 200
    assert said in " ".join(answer.context["form"].errors[field])
    assert list(answer.context["form"].errors) == [field]
    page = answer.content.decode()
    kept = "Cy" if field != "keeper" else "Hill"
    assert f'value="{kept}"' in page
    assert "brood by the barn" not in page
    assert (Farm.objects.count(), Login.objects.count()) == (1, 1)


@override_settings(SIGNUP=False)
def test_a_server_closed_to_strangers_starts_no_farm_for_them(client, db):
    for answer in (client.get(reverse("start-farm")), client.post(reverse("start-farm"), TYPED)):
        assert answer.status_code == 403
        assert "Ask for an invitation" in answer.content.decode()
    assert not Login.objects.exists()
    assert reverse("start-farm") not in client.get(reverse("login")).content.decode()


def test_logins_are_not_made_by_the_hundred(client, db):
    for n in range(20):
        client.post(reverse("start-farm"), TYPED | {"email": f"c{n}@example.org"})
        client.logout()
    page = client.post(reverse("start-farm"), TYPED).content.decode()
    assert "Many farms were started from here just now." in page
    assert Login.objects.count() == 20


def test_who_is_signed_in_starts_a_further_farm_and_looks_at_it(world, ada):
    page = ada.get(reverse("start-farm")).content.decode()
    assert 'name="password"' not in page
    ada.post(reverse("start-farm"), TYPED)
    assert ada.session[FARM_KEY] == Farm.objects.get(name="Hill").pk
    assert Login.objects.count() == 1


def test_the_zones_are_offered_as_a_list(client, db):
    page = client.get(reverse("start-farm")).content.decode()
    assert '<datalist id="zones">' in page
    assert '<option value="Europe/Berlin">' in page
    assert 'list="zones"' in page


def test_a_login_without_a_farm_is_led_to_the_page_that_starts_one(client, db):
    client.force_login(Login.objects.create_user("new@example.org", "pw"))
    assert client.get(reverse("settings")).url == reverse("start-farm")


def test_choosing_a_farm_changes_what_the_pages_show(world, ada):
    other = make_world("cy@example.org", "Hill")
    other.keeper.login = world.keeper.login
    other.keeper.save()
    assert ada.get(reverse("settings")).context["farm"].name == "Hill"
    page = ada.get(reverse("choose-farm")).content.decode()
    assert "Open Hollow Farm" in page
    assert ada.post(reverse("choose-farm"), {"farm": world.farm.pk}).url == reverse("today")
    assert ada.get(reverse("settings")).context["farm"].name == "Hollow Farm"


@pytest.mark.parametrize("number", ["", "x", "999999", None])
def test_another_households_farm_cannot_be_chosen(world, ada, elsewhere, number):
    chosen = elsewhere.farm.pk if number is None else number
    assert ada.post(reverse("choose-farm"), {"farm": chosen}).status_code == 404
    assert FARM_KEY not in ada.session


def test_a_farm_that_was_left_is_no_longer_shown(world, ada):
    world.add_member("Bo", "keeper")
    members.leave(world.by, member_id=world.keeper.pk)
    assert ada.get(reverse("settings")).url == reverse("start-farm")


def test_an_invitation_says_which_farm_and_which_role(secret, client):
    page = client.get(reverse("invitation", args=[secret])).content.decode()
    assert "You are invited to Hollow Farm" in page
    assert "Finn: helper" in page
    assert 'value="finn@example.org"' in page


def test_an_invitation_makes_a_login_and_opens_the_farm(secret, world, client):
    typed = {"email": "finn@example.org", "password": "brood by the barn"}
    assert client.post(reverse("invitation", args=[secret]), typed).url == reverse("today")
    assert client.get(reverse("settings")).context["visit"].member.name == "Finn"


@override_settings(SIGNUP=False)
def test_an_invitation_opens_a_server_closed_to_strangers(secret, client):
    typed = {"email": "finn@example.org", "password": "brood by the barn"}
    assert client.post(reverse("invitation", args=[secret]), typed).status_code == 302


def test_an_invitation_is_accepted_with_a_login_that_is_there(secret, elsewhere, client):
    client.force_login(elsewhere.keeper.login)
    page = client.get(reverse("invitation", args=[secret])).content.decode()
    assert "You are signed in as bea@example.org." in page
    client.post(reverse("invitation", args=[secret]))
    assert client.get(reverse("settings")).context["farm"].name == "Hollow Farm"
    assert Login.objects.filter(email="finn@example.org").count() == 0


def test_who_is_on_the_farm_already_is_told_so(secret, ada):
    answer = ada.post(reverse("invitation", args=[secret]))
    assert "You are on this farm already." in answer.content.decode()


def test_an_e_mail_that_has_a_login_is_sent_to_sign_in_and_the_link_stays_good(secret, client):
    typed = {"email": "ada@example.org", "password": "brood by the barn"}
    answer = client.post(reverse("invitation", args=[secret]), typed)
    assert answer.context["form"].errors["email"] == [
        "This e-mail address already has a login. Sign in instead."
    ]
    assert client.get(reverse("invitation", args=[secret])).status_code == 200


@pytest.mark.parametrize("method", ["get", "post"])
def test_a_link_that_is_none_is_not_found(client, db, method):
    answer = getattr(client, method)("/join/no-such-secret/")
    assert answer.status_code == 404
    assert "Ask for a new one." in answer.content.decode()


def test_a_used_link_is_not_found(secret, client):
    typed = {"email": "finn@example.org", "password": "brood by the barn"}
    client.post(reverse("invitation", args=[secret]), typed)
    assert client.get(reverse("invitation", args=[secret])).status_code == 404


@pytest.mark.parametrize("url", ["start-farm", "login"])
def test_pages_with_passwords_carry_the_forgery_guard_and_stay_out_of_caches(client, db, url):
    answer = client.get(reverse(url))
    assert "csrfmiddlewaretoken" in answer.content.decode()
    assert "no-store" in answer["Cache-Control"]
