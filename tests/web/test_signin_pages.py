"""Signing in and out, and a password that was forgotten or is to be changed."""

import re

import pytest
from django.core import mail
from django.core.cache import cache
from django.test import override_settings
from django.urls import reverse

from farm.models import Login

RIGHT = "correct horse battery"
NEW = "brood by the barn"


@pytest.fixture(autouse=True)
def _fresh_brake():
    cache.clear()


def sign_in(client, password=RIGHT, email="ada@example.org", **more):
    return client.post(reverse("login"), {"username": email, "password": password} | more)


def letter_link():
    return re.search(r"http://localhost:\d+(/reset/\S+)", mail.outbox[-1].body)[1]


def test_the_sign_in_page_asks_for_e_mail_and_password_with_labels(client, db):
    page = client.get(reverse("login")).content.decode()
    assert re.search(
        r'<label[^>]* for="id_username">E-mail</label>|for="id_username"[^>]*>E-mail</label>', page
    )
    assert 'autocomplete="current-password"' in page
    assert reverse("password-reset") in page


def test_a_right_password_opens_today_whatever_the_case_of_the_e_mail(world, client):
    answer = sign_in(client, email="ADA@example.org")
    assert (answer.status_code, answer.url) == (302, reverse("today"))
    assert client.session["_auth_user_id"] == str(world.keeper.login_id)


def test_a_wrong_password_keeps_the_e_mail_and_says_how_to_go_on(world, client):
    page = sign_in(client, "wrong").content.decode()
    assert "This e-mail address and password do not go together. Check both and try again." in page
    assert 'value="ada@example.org"' in page
    assert "wrong" not in re.findall(r'name="password"[^>]*', page)[0]


def test_signing_in_leads_back_to_where_it_was_asked_for(world, client):
    assert client.get(reverse("settings")).url == "/login/?next=/settings/"
    assert sign_in(client, next="/settings/").url == "/settings/"


def test_signing_in_never_leads_to_another_site(world, client):
    assert sign_in(client, next="https://elsewhere.example/").url == reverse("today")


def test_a_login_that_was_switched_off_does_not_open(world, client):
    Login.objects.update(is_active=False)
    assert sign_in(client).status_code == 200
    assert "_auth_user_id" not in client.session


def test_signing_out_is_a_form_and_ends_the_session(world, client):
    sign_in(client)
    assert client.get(reverse("logout")).status_code == 405
    assert client.post(reverse("logout")).url == reverse("login")
    assert "_auth_user_id" not in client.session


def test_a_forgotten_password_is_replaced_by_the_letters_link(world, client):
    asked = client.post(reverse("password-reset"), {"email": "ada@example.org"}, follow=True)
    assert "a letter is on its way" in asked.content.decode()
    assert mail.outbox[-1].to == ["ada@example.org"]
    form = client.get(letter_link(), follow=True)
    saved = client.post(form.request["PATH_INFO"], {"new_password1": NEW, "new_password2": NEW}, follow=True)
    assert "Your new password is saved. Sign in with it." in saved.content.decode()
    assert sign_in(client, NEW).status_code == 302


def test_the_letter_names_the_sites_own_address_not_the_requests(world, client):
    with override_settings(ADDRESS="https://birds.example", ALLOWED_HOSTS=["*"]):
        client.post(reverse("password-reset"), {"email": "ada@example.org"}, headers={"host": "evil.example"})
    assert "https://birds.example/reset/" in mail.outbox[-1].body
    assert "evil" not in mail.outbox[-1].body


def test_nothing_tells_whether_an_e_mail_has_a_login(world, client):
    answers = [
        client.post(reverse("password-reset"), {"email": email}, follow=True).content
        for email in ("ada@example.org", "nobody@example.org")
    ]
    assert answers[0] == answers[1]
    assert len(mail.outbox) == 1


def test_a_letter_box_is_not_filled(world, client):
    for _ in range(4):
        client.post(reverse("password-reset"), {"email": "ada@example.org"})
    page = client.post(reverse("password-reset"), {"email": "Ada@example.org"}).content.decode()
    assert "Several letters were asked for already." in page
    assert len(mail.outbox) == 4


def test_a_letters_link_works_once(world, client):
    client.post(reverse("password-reset"), {"email": "ada@example.org"})
    link = letter_link()
    form = client.get(link, follow=True)
    client.post(form.request["PATH_INFO"], {"new_password1": NEW, "new_password2": NEW})
    again = client.get(link, follow=True).content.decode()
    assert "This link was used already or is too old." in again


def test_a_new_password_ends_the_wait_of_whoever_had_forgotten_it(world, client):
    for _ in range(6):
        sign_in(client, "wrong")
    client.post(reverse("password-reset"), {"email": "ada@example.org"})
    form = client.get(letter_link(), follow=True)
    client.post(form.request["PATH_INFO"], {"new_password1": NEW, "new_password2": NEW})
    assert sign_in(client, NEW).status_code == 302


@pytest.mark.parametrize("url", ["password-reset", "password-reset-sent"])
def test_a_server_that_sends_no_letters_says_so(client, db, url):
    with override_settings(EMAIL_BACKEND="django.core.mail.backends.filebased.EmailBackend"):
        assert "not set up to send e-mail" in client.get(reverse(url)).content.decode()
    assert "not set up to send e-mail" not in client.get(reverse(url)).content.decode()


def test_changing_the_password_keeps_this_device_and_signs_the_others_out(world, client, django_user_model):
    other = type(client)()
    sign_in(client)
    sign_in(other)
    typed = {"old_password": RIGHT, "new_password1": NEW, "new_password2": NEW}
    assert client.post(reverse("password-change"), typed).url == reverse("settings")
    assert client.get(reverse("settings")).status_code == 200
    assert other.get(reverse("settings")).url == "/login/?next=/settings/"


@pytest.mark.parametrize(
    "typed, field",
    [
        ({"old_password": "wrong"}, "old_password"),
        ({"new_password2": "brood by the bar"}, "new_password2"),
        ({"new_password1": "short", "new_password2": "short"}, "new_password2"),
    ],
)
def test_a_password_that_cannot_be_taken_is_refused_at_its_field(world, client, typed, field):
    sign_in(client)
    given = {"old_password": RIGHT, "new_password1": NEW, "new_password2": NEW} | typed
    answer = client.post(reverse("password-change"), given)
    assert list(answer.context["form"].errors) == [field]
    world.keeper.login.refresh_from_db()
    assert world.keeper.login.check_password(RIGHT)


def test_the_password_page_asks_strangers_to_sign_in(client, db):
    assert client.get(reverse("password-change")).url.startswith("/login/")
