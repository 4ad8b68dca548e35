"""The second step of signing in: a code is asked for, nothing goes round it, and nobody is kept out for good."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.core.cache import cache
from django.core.management import CommandError, call_command
from django.test import Client, override_settings
from django.urls import reverse
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from farm.models import Login
from tests.architecture.addresses import NEUTRAL, THINGS, addresses, path, things
from tests.conftest import NOON
from tests.web.otp_codes import PASSWORD, code_of, sign_in, switch_on, wrong

CODE = reverse("login-code")
NEW = "brood by the barn"


@pytest.fixture(autouse=True)
def _fresh_brake():
    cache.clear()


@pytest.fixture
def at():
    """Noon, and a function that sets the clock to so many seconds later."""
    with time_machine.travel(NOON, tick=False) as clock:
        yield lambda seconds: clock.move_to(NOON + timedelta(seconds=seconds))


@pytest.fixture
def on(world, client, at):
    """The secret and recovery codes of Ada, who switched it on at noon and is signed out; a minute has passed."""
    sign_in(client)
    found = switch_on(client)
    client.logout()
    at(60)
    return found


def is_in(client):
    return client.get(reverse("settings")).status_code == 200


def login_of(world):
    return Login.objects.get(pk=world.keeper.login_id)


def test_the_page_asks_for_the_password_before_it_shows_a_secret(world, client, at):
    sign_in(client)
    refused = client.post(reverse("second-step"), {"password": "wrong"})
    assert "This is not your password." in refused.content.decode()
    assert not TOTPDevice.objects.exists()
    assert client.get(reverse("second-step-add")).url == reverse("second-step")


def test_switching_on_shows_a_code_to_scan_and_its_secret_as_text(world, client, at):
    sign_in(client)
    client.post(reverse("second-step"), {"password": PASSWORD})
    page = client.get(reverse("second-step-add")).content.decode()
    assert '<svg xmlns="http://www.w3.org/2000/svg"' in page or "<svg" in page
    assert len(re.search(r'class="spelled">([A-Z2-7 ]+)<', page)[1].replace(" ", "")) == 32
    assert login_of(world).second_step_at is None


def test_it_is_on_only_when_a_code_from_the_app_was_right(world, client, at):
    sign_in(client)
    client.post(reverse("second-step"), {"password": PASSWORD})
    page = client.get(reverse("second-step-add")).content.decode()
    right = code_of(re.search(r'class="spelled">([A-Z2-7 ]+)<', page)[1])
    answer = client.post(reverse("second-step-add"), {"code": wrong(right)})
    assert list(answer.context["form"].errors) == ["code"]
    assert (login_of(world).second_step_at, StaticToken.objects.count()) == (None, 0)
    at(5)
    assert "Your recovery codes" in client.post(reverse("second-step-add"), {"code": right}).content.decode()
    assert login_of(world).second_step_at == NOON + timedelta(seconds=5)


def test_ten_different_recovery_codes_are_shown_once_and_kept_unreadable(world, client, at):
    sign_in(client)
    _secret, codes = switch_on(client)
    kept = list(StaticToken.objects.values_list("token", flat=True))
    assert (len(set(codes)), len(set(kept))) == (10, 10)
    assert not {code.replace("-", "") for code in codes} & set(kept)
    assert client.get(reverse("second-step-add")).url == reverse("second-step")
    page = client.get(reverse("second-step")).content.decode()
    assert "10 recovery codes are left." in page
    assert not any(code in page for code in codes)


def test_switching_on_keeps_this_device_and_signs_the_others_out(world, client, at):
    other = Client()
    sign_in(client)
    sign_in(other)
    before = client.session.session_key
    switch_on(client)
    assert is_in(client)
    assert not is_in(other)
    assert client.session.session_key != before


def test_a_right_password_alone_opens_nothing(world, client, on):
    answer = sign_in(client)
    assert (answer.status_code, answer.url) == (302, CODE)
    assert "_auth_user_id" not in client.session
    assert client.get(reverse("settings")).url == "/login/?next=/settings/"


def test_password_and_code_open_the_farm_where_it_was_asked_for(world, client, on):
    secret, _codes = on
    client.post(reverse("login"), {"username": "ada@example.org", "password": PASSWORD, "next": "/settings/"})
    answer = client.post(CODE, {"code": code_of(secret)})
    assert (answer.status_code, answer.url) == (302, "/settings/")
    assert is_in(client)


def test_blanks_in_a_code_do_not_matter(world, client, on):
    sign_in(client)
    code = code_of(on[0])
    assert client.post(CODE, {"code": f" {code[:3]} {code[3:]} "}).status_code == 302


def test_the_session_gets_a_new_key_at_each_step(world, client, on):
    client.get(reverse("login"))
    keys = [client.session.session_key]
    sign_in(client)
    keys.append(client.session.session_key)
    client.post(CODE, {"code": code_of(on[0])})
    keys.append(client.session.session_key)
    assert len(set(keys)) == 3


def test_a_code_works_once(world, client, on):
    code = code_of(on[0])
    sign_in(client)
    client.post(CODE, {"code": code})
    client.logout()
    sign_in(client)
    assert "does not fit" in client.post(CODE, {"code": code}).content.decode()
    assert not is_in(client)


def test_a_wrong_code_is_said_at_its_field(world, client, on):
    sign_in(client)
    answer = client.post(CODE, {"code": wrong(code_of(on[0]))})
    assert list(answer.context["form"].errors) == ["code"]
    assert not is_in(client)


def test_wrong_codes_cost_waits_that_double_and_end_with_the_right_one(world, client, on, at):
    sign_in(client)
    client.post(CODE, {"code": wrong(code_of(on[0]))})
    assert "Wait 1 second" in client.post(CODE, {"code": code_of(on[0])}).content.decode()
    at(62)
    client.post(CODE, {"code": wrong(code_of(on[0]))})
    assert "Wait 2 seconds" in client.post(CODE, {"code": code_of(on[0])}).content.decode()
    at(65)
    assert client.post(CODE, {"code": code_of(on[0])}).status_code == 302
    assert TOTPDevice.objects.get().throttling_failure_count == 0


def test_however_many_codes_were_wrong_nobody_waits_longer_than_seventeen_minutes(world, client, on, at):
    clock = 60
    for _ in range(14):
        sign_in(client)
        client.post(CODE, {"code": wrong(code_of(on[0]))})
        clock += 1100
        at(clock)
    assert TOTPDevice.objects.get().throttling_failure_count == 11
    sign_in(client)
    assert client.post(CODE, {"code": code_of(on[0])}).status_code == 302


def test_wrong_codes_of_the_app_leave_the_recovery_codes_open(world, client, on):
    sign_in(client)
    for _ in range(3):
        client.post(CODE, {"code": wrong(code_of(on[0]))})
    assert client.post(f"{CODE}?paper", {"code": on[1][0]}).status_code == 302


def test_a_recovery_code_opens_once_and_what_is_left_is_said(world, client, on):
    sign_in(client)
    answer = client.post(f"{CODE}?paper", {"code": on[1][3].upper()}, follow=True)
    assert "9 recovery codes are left." in answer.content.decode()
    client.logout()
    sign_in(client)
    assert "none of your recovery codes" in client.post(CODE, {"code": on[1][3]}).content.decode()
    assert not is_in(client)


def test_another_logins_recovery_code_does_not_open(world, elsewhere, client, on):
    sign_in(client, "bea@example.org")
    switch_on(client)
    client.logout()
    sign_in(client, "bea@example.org")
    client.post(f"{CODE}?paper", {"code": on[1][0]})
    assert not is_in(client)
    assert StaticToken.objects.filter(device__user=login_of(world)).count() == 10


def test_a_code_is_awaited_for_ten_minutes(world, client, on, at):
    sign_in(client)
    at(60 + 601)
    assert client.post(CODE, {"code": code_of(on[0])}).url == reverse("login")
    assert not is_in(client)


def test_a_password_that_changed_meanwhile_ends_the_wait_for_a_code(world, client, on):
    sign_in(client)
    login = login_of(world)
    login.set_password(NEW)
    login.save()
    assert client.post(CODE, {"code": code_of(on[0])}).url == reverse("login")
    assert not is_in(client)


def test_the_page_for_codes_leads_strangers_to_sign_in(client, db):
    assert client.get(CODE).url == reverse("login")
    assert client.post(CODE, {"code": "123456"}).url == reverse("login")


def test_a_forgotten_password_made_new_still_asks_for_the_code(world, client, on):
    client.post(reverse("password-reset"), {"email": "ada@example.org"})
    link = re.search(r"http://localhost:\d+(/reset/\S+)", mail.outbox[-1].body)[1]
    form = client.get(link, follow=True)
    client.post(form.request["PATH_INFO"], {"new_password1": NEW, "new_password2": NEW})
    assert not is_in(client)
    assert sign_in(client, password=NEW).url == CODE
    assert not is_in(client)


def test_a_new_password_from_a_device_signed_in_ends_the_wait_that_wrong_codes_made(world, client, on):
    sign_in(client)
    client.post(CODE, {"code": code_of(on[0])})
    other = Client()
    sign_in(other)
    for _ in range(2):
        other.post(CODE, {"code": wrong(code_of(on[0]))})
    assert TOTPDevice.objects.get().throttling_failure_count == 1
    typed = {"old_password": PASSWORD, "new_password1": NEW, "new_password2": NEW}
    client.post(reverse("password-change"), typed)
    assert TOTPDevice.objects.get().throttling_failure_count == 0
    assert is_in(client)
    assert login_of(world).second_step_at is not None


def test_a_session_begun_without_the_code_it_owes_is_nobodys_on_every_address(world, on):
    """As from a face that forgot to ask: the gate alone stands before the pages."""
    found = things(world)
    client = Client()
    client.force_login(login_of(world))
    seen = {}
    for address in addresses():
        if address.role is not None and (address.name in {**THINGS, **NEUTRAL} or not address.arguments):
            reply = client.get(path(address, found))
            seen[address.name] = reply.status_code in (405, 401) or reply.url.split("?")[0] == "/login/"
    assert [name for name, kept_out in seen.items() if not kept_out] == []
    assert len(seen) > 100


def test_nor_does_such_a_session_open_the_api(world, on):
    client = Client()
    client.force_login(login_of(world))
    assert client.get("/api/v1/batches/").status_code == 401
    client.force_login(world.add_member("Cara", "keeper").login)
    assert client.get("/api/v1/batches/").status_code == 200


def test_an_older_mark_opens_nothing_after_it_was_switched_off_and_on(world, client, on):
    sign_in(client)
    client.post(CODE, {"code": code_of(on[0])})
    mark = client.session["second_step"]
    login = login_of(world)
    login.second_step_at = NOON + timedelta(days=1)
    login.save()
    client.force_login(login)
    session = client.session
    session["second_step"] = mark
    session.save()
    assert not is_in(client)


def test_switching_off_asks_for_password_and_code_and_signs_the_others_out(world, client, on, at):
    other = Client()
    for one, moment in ((client, 60), (other, 120)):
        at(moment)
        sign_in(one)
        one.post(CODE, {"code": code_of(on[0])})
    at(180)
    client.post(reverse("second-step-off"), {"password": "wrong", "code": code_of(on[0])})
    client.post(reverse("second-step-off"), {"password": PASSWORD, "code": wrong(code_of(on[0]))})
    assert login_of(world).second_step_at is not None
    at(185)
    answer = client.post(reverse("second-step-off"), {"password": PASSWORD, "code": code_of(on[0])})
    assert answer.url == reverse("second-step")
    assert login_of(world).second_step_at is None
    assert not TOTPDevice.objects.exists()
    assert not StaticDevice.objects.exists()
    assert is_in(client)
    assert not is_in(other)


def test_a_wrong_password_uses_no_code_up(world, client, on):
    sign_in(client)
    client.post(CODE, {"code": code_of(on[0])})
    client.post(reverse("second-step-off"), {"password": "wrong", "code": on[1][0]})
    assert StaticToken.objects.count() == 10


def test_new_recovery_codes_void_those_before(world, client, on, at):
    sign_in(client)
    client.post(CODE, {"code": code_of(on[0])})
    at(90)
    answer = client.post(reverse("second-step-codes"), {"password": PASSWORD, "code": code_of(on[0])})
    fresh = answer.context["codes"]
    assert (len(fresh), set(fresh) & set(on[1])) == (10, set())
    client.logout()
    sign_in(client)
    client.post(f"{CODE}?paper", {"code": on[1][0]})
    assert not is_in(client)
    at(95)
    assert client.post(f"{CODE}?paper", {"code": fresh[0]}).status_code == 302


@pytest.mark.parametrize("name", ["second-step", "second-step-add", "second-step-codes", "second-step-off"])
def test_the_logins_own_pages_ask_strangers_to_sign_in(client, db, name):
    assert client.get(reverse(name)).url.startswith("/login/")


def test_pages_with_secrets_stay_out_of_caches(world, client, at):
    sign_in(client)
    client.post(reverse("second-step"), {"password": PASSWORD})
    for name in ("second-step", "second-step-add"):
        assert "no-store" in client.get(reverse(name))["Cache-Control"]


def test_the_support_pages_have_no_door_of_their_own(world, client, on):
    Login.objects.filter(pk=world.keeper.login_id).update(is_staff=True, is_superuser=True)
    typed = {"username": "ada@example.org", "password": PASSWORD, "next": "/admin/"}
    assert client.post("/admin/login/?next=/admin/", typed).url == "/login/?next=%2Fadmin%2F"
    assert "_auth_user_id" not in client.session
    client.post(reverse("login"), typed)
    assert client.get("/admin/").status_code == 302
    client.post(CODE, {"code": code_of(on[0])})
    assert client.get("/admin/").status_code == 200


def test_the_support_pages_never_lead_to_another_site(client, db):
    assert client.get("/admin/login/?next=https://evil.example/").url == "/login/?next=%2Fadmin%2F"


def test_over_tls_support_must_have_a_second_step(client, db):
    client.force_login(Login.objects.create_superuser("support@example.org", "pw"))
    with override_settings(TLS=True):
        assert client.get("/admin/").status_code == 302
        assert client.get("/admin/login/").url == reverse("second-step")
    assert client.get("/admin/").status_code == 200


def test_support_switches_off_the_second_step_of_whoever_lost_everything(world, client, on):
    client.force_login(Login.objects.create_superuser("support@example.org", "pw"))
    chosen = {"action": "take_off_second_step", "_selected_action": [world.keeper.login_id]}
    client.post(reverse("admin:farm_login_changelist"), chosen)
    assert login_of(world).second_step_at is None
    assert not TOTPDevice.objects.exists()


def test_no_support_page_shows_a_secret_of_the_second_step(world, client, on):
    client.force_login(Login.objects.create_superuser("support@example.org", "pw"))
    assert client.get("/admin/otp_totp/totpdevice/").status_code == 404
    assert client.get("/admin/otp_static/staticdevice/").status_code == 404


def test_whoever_runs_the_server_switches_it_off_by_a_command(world, client, on):
    call_command("second_step_off", "ADA@example.org", verbosity=0)
    assert sign_in(client).url == reverse("today")
    with pytest.raises(CommandError, match="off already"):
        call_command("second_step_off", "ada@example.org")
    with pytest.raises(CommandError, match="no such login"):
        call_command("second_step_off", "nobody@example.org")
