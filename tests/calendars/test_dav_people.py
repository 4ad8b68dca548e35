"""Who is let in, who is not, what is written of it anywhere, and what each member's list holds."""

from __future__ import annotations

import base64
import logging

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from calendars.dav import brake, guests, passwords
from calendars.dav.models import AppPassword
from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Change, ChoreMark, Login
from farm.models.chore_mark import Round
from farm.services import members, own_chores, rota
from farm.settings.redact import RedactingFormatter, redact
from tests.calendars.dav_world import F, an_app, condition, planted
from tests.conftest import NOON, TODAY
from tests.farm.judging import day
from tests.farm.rota_world import able, key, people


@pytest.fixture
def who(world):
    planted(world)
    return people(world)


@pytest.fixture
def app(who):
    return an_app(who["Ada"])


def ask(authorization=None, address="192.0.2.9", method="PROPFIND"):
    headers = {"depth": "0"} | ({"authorization": authorization} if authorization is not None else {})
    with time_machine.travel(NOON, tick=False):
        return Client().generic(method, "/dav/", headers=headers, REMOTE_ADDR=address)


def basic(name, secret):
    return "Basic " + base64.b64encode(f"{name}:{secret}".encode()).decode()


def test_without_a_password_one_is_asked_for(db):
    response = ask()
    assert response.status_code == 401
    assert response["WWW-Authenticate"] == 'Basic realm="Featherdays", charset="UTF-8"'
    assert response.cookies == {}


@pytest.mark.parametrize(
    "header",
    [
        "",
        "Basic",
        "Basic ",
        "Basic !!!",
        "Basic " + "A" * 3000,
        "Bearer abc",
        "Basic " + base64.b64encode(b"x").decode(),
        "Basic " + base64.b64encode(b"\xff:\xff").decode(),
        basic("", ""),
        basic("member-1", ""),
        basic("", "x"),
    ],
)
def test_what_is_no_sign_in_is_asked_for_one(db, header):
    assert ask(header).status_code == 401


@pytest.mark.parametrize(
    "method", ["GET", "HEAD", "PROPFIND", "REPORT", "PUT", "DELETE", "MKCALENDAR", "POST"]
)
def test_no_method_but_options_is_answered_to_strangers(db, method):
    assert ask(method=method).status_code == 401


def test_the_secret_is_140_random_bits_kept_as_a_hash_alone(app):
    letters = app.secret.replace("-", "")
    assert len(letters) == 28
    assert set(letters) <= set(passwords.LETTERS)
    assert len(set(passwords.LETTERS)) == 32
    row = AppPassword.objects.get()
    assert not {app.secret, letters} & {str(value) for value in vars(row).values()}
    assert app.secret not in str(list(Change.objects.values_list("before", "after")))


@pytest.mark.parametrize(
    "typed", [str.upper, lambda text: text.replace("-", ""), lambda text: text.replace("-", " ")]
)
def test_the_secret_may_be_typed_as_phones_type(app, typed):
    assert ask(basic(f" {app.user.title()} ", typed(app.secret))).status_code == 207


def test_a_password_opens_its_own_members_list_only(app, who):
    assert ask(basic(passwords.user_name(who["Ben"].member), app.secret)).status_code == 401
    assert ask(basic(app.user, app.secret[:-1] + "a" * (app.secret[-1] == "b") or "b")).status_code == 401


def test_a_password_switched_off_opens_nothing_at_once_and_others_go_on(app, who):
    other = an_app(who["Ada"], "tablet")
    passwords.revoke(who["Ada"], password_id=app.password.pk)
    assert passwords.revoke(who["Ada"], password_id=app.password.pk).revoked_at == NOON
    assert app.ask("PROPFIND", "/dav/", depth="0").status_code == 401
    assert other.ask("PROPFIND", "/dav/", depth="0").status_code == 207


def test_it_dies_with_the_membership(who, world):
    ben = an_app(who["Ben"])
    members.leave(world.by, member_id=who["Ben"].member.pk)
    assert ben.ask("PROPFIND", "/dav/", depth="0").status_code == 401


def test_it_opens_nothing_while_the_login_may_not_sign_in(app, who):
    Login.objects.filter(pk=who["Ada"].login.pk).update(is_active=False)
    assert app.ask("PROPFIND", "/dav/", depth="0").status_code == 401


def test_a_member_without_a_login_has_one_from_a_keeper(world, who):
    kim = able(world.add_member("Kim", "child", login=False), adult=False)
    password, secret = passwords.make(world.by, member_id=kim.member.pk, label="tablet")
    assert ask(basic(passwords.user_name(kim.member), secret)).status_code == 207
    assert passwords.seen_by(world.keeper).filter(pk=password.pk).exists()


def test_only_keepers_make_and_switch_off_anothers(who, app, world, elsewhere):
    with pytest.raises(NotAllowed):
        passwords.make(who["Ben"], member_id=who["Ada"].member.pk, label="x")
    with pytest.raises(NotFound):
        passwords.revoke(who["Ben"], password_id=app.password.pk)
    with pytest.raises(NotFound):
        passwords.revoke(elsewhere.by, password_id=app.password.pk)
    with pytest.raises(NotFound):
        passwords.make(elsewhere.by, member_id=who["Ada"].member.pk, label="x")
    bens = an_app(who["Ben"])
    assert passwords.revoke(world.by, password_id=bens.password.pk).revoked_at == NOON


def test_there_is_an_end_to_how_many_and_none_without_a_label(who):
    with pytest.raises(BadInput):
        an_app(who["Ben"], " ")
    for number in range(passwords.MOST):
        an_app(who["Ben"], f"{number}")
    with pytest.raises(BadInput):
        an_app(who["Ben"], "one more")


def test_the_day_of_the_last_use_is_noted_once(app, django_assert_num_queries):
    app.ask("PROPFIND", "/dav/", depth="0")
    assert AppPassword.objects.get().last_used_on == TODAY
    with django_assert_num_queries(1):
        app.ask("PROPFIND", "/dav/", depth="0")


def test_wrong_passwords_of_one_address_are_braked_and_right_ones_never(app):
    wrong = basic("member-0", "x" * 28)
    found = [ask(wrong).status_code for _ in range(brake.BY_ADDRESS + 1)]
    assert found == [401] * brake.BY_ADDRESS + [429]
    assert ask(wrong)["Retry-After"] == str(brake.SECONDS)
    assert ask(wrong, address="192.0.2.10").status_code == 401
    assert ask(basic(app.user, app.secret)).status_code == 207


def test_wrong_passwords_for_one_name_are_braked_wherever_from(app):
    wrong = [ask(basic(app.user, "x" * 28), address=f"192.0.2.{n}") for n in range(brake.BY_NAME + 1)]
    assert [each.status_code for each in wrong] == [401] * brake.BY_NAME + [429]
    assert ask(basic(app.user.upper(), "y"), address="198.51.100.1").status_code == 429
    assert ask(basic("member-0", "y"), address="198.51.100.1").status_code == 401
    assert ask(basic(app.user, app.secret), address="198.51.100.1").status_code == 207


def test_an_app_that_only_asks_whether_a_password_is_needed_is_not_counted(db):
    for _ in range(brake.BY_ADDRESS + 5):
        ask()
    assert ask(basic("member-0", "x")).status_code == 401


def test_names_are_not_kept_in_the_cache_as_they_are(db, monkeypatch):
    kept = []
    monkeypatch.setattr(cache, "add", lambda key, *rest: kept.append(key))
    brake.missed("192.0.2.1", "member-1\n" + "x" * 400)
    assert all(len(key) < 70 and "192" not in key and "member" not in key for key in kept)


def test_secrets_are_in_no_log_whatever_happens(app, caplog, monkeypatch, look_path):
    caplog.set_level(logging.DEBUG)
    header = basic(app.user, app.secret)
    for path in ("/dav/", app.list, app.list + "x.ics", look_path):
        for method in ("GET", "PROPFIND", "REPORT", "PUT", "DELETE"):
            app.ask(method, path, "<", depth="0")
    ask(basic(app.user, app.secret + "x"))
    monkeypatch.setattr(guests.passwords, "used", lambda *_: 1 / 0)
    response = app.ask("GET", app.list)
    assert (response.status_code, response["Retry-After"]) == (503, "300")
    assert "a task list could not be answered" in caplog.text
    assert app.secret not in caplog.text
    assert header.split()[1] not in caplog.text


@pytest.fixture
def look_path(app, world):
    return app.path(key(world, "look"))


def test_a_secret_that_gets_into_a_line_is_blotted_out_of_it(app):
    header = basic(app.user, app.secret)
    assert (
        redact(f"got {{'Authorization': '{header}'}} there")
        == "got {'Authorization': 'Basic [secret]'} there"
    )
    assert redact(f"typed {app.secret}, wrong") == "typed [secret], wrong"
    assert (
        redact("Basic rules of the 2026-05-01 morning-look") == "Basic rules of the 2026-05-01 morning-look"
    )
    record = logging.LogRecord("x", 10, "x", 1, "%s %s", (header, app.secret), None)
    line = RedactingFormatter().format(record)
    assert line == "Basic [secret] [secret]"


def test_a_child_has_what_a_child_may_do_and_nothing_else(who, world):
    app = an_app(who["Cara"])
    assert app.get(key(world, "feed_water")).status_code == 200
    for job in ("look", "heat_check"):
        assert app.get(key(world, job)).status_code == 404
        response = app.ask("PUT", app.path(key(world, job)), b"x")
        assert response.status_code == 403
    assert app.tick(key(world, "feed_water")).status_code == 204
    assert ChoreMark.objects.get().member == who["Cara"].member


def test_an_own_chore_is_a_childs_when_its_keeper_says_so(who, world):
    cara = an_app(who["Cara"])
    for who_may, seen in (("child", 200), ("helper", 404)):
        chore = own_chores.add(world.by, title=f"For {who_may}", start=TODAY, minutes=5, who=who_may)
        assert cara.get((f"own:{chore.pk}/own_chore", TODAY, Round.MORNING)).status_code == seen


def test_with_a_rota_each_has_their_own_and_keepers_what_nobody_has(who, world):
    from tests.farm.test_rounds_query import with_rota

    look, feed = key(world, "look"), key(world, "feed_water")
    with_rota(world, [(look, [who["Ben"]])])
    ada, ben = an_app(who["Ada"]), an_app(who["Ben"])
    assert (ben.get(look).status_code, ada.get(look).status_code) == (200, 404)
    assert (ben.get(feed).status_code, ada.get(feed).status_code) == (404, 200)
    assert len(ben.query()) == 1


def test_a_list_is_a_rotas_as_soon_as_there_is_one(who, world):
    app = an_app(who["Ben"])
    token = app.sync()[2]
    rota.start(world.by, weeks=1, fair_days=14)
    rota.refresh(farm_id=world.farm.pk, now=NOON)
    _changed, gone, _token = app.sync(token)
    assert gone
    assert app.get(key(world, "look", day(10).toordinal() - TODAY.toordinal())).status_code == 404


def test_refusals_come_in_words_and_name_a_condition(app, world):
    response = app.ask(
        "PUT",
        app.path(key(world, "look")),
        app.get(key(world, "look")).content.replace(b"SUMMARY:", b"SUMMARY:x"),
    )
    assert condition(response) == f"{F}only-ticks"
    assert "Only ticking is possible here" in response.content.decode()
