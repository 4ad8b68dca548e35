"""The brake on guessing: a forgotten password costs half a minute, a guesser hours, a family nothing."""

import json
import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
import time_machine
from django.core import signing
from django.core.cache import cache
from django.core.cache.backends.locmem import LocMemCache
from django.test import override_settings
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from farm.web.signin import devices, limits
from farm.web.signin.forms import said_wait
from farm.web.signin.limits import ADDRESS, EMAIL, PAIR, SIGN_UPS, Attempt, Limit
from tests.conftest import NOON

RIGHT, WRONG = "correct horse battery", "correct house battery"


@pytest.fixture(autouse=True)
def _fresh_brake():
    cache.clear()


@pytest.fixture
def at():
    """Noon, and a function that sets the clock to so many seconds later."""
    with time_machine.travel(NOON, tick=False) as clock:
        yield lambda seconds: clock.move_to(NOON + timedelta(seconds=seconds))


def attempt(client, password, email="ada@example.org", address="192.0.2.1"):
    return client.post(reverse("login"), {"username": email, "password": password}, REMOTE_ADDR=address)


def test_five_wrong_passwords_are_followed_by_half_a_minutes_wait(world, client, at):
    for _ in range(5):
        assert b"do not go together" in attempt(client, WRONG).content
    answer = attempt(client, RIGHT)
    assert b"Wait 30 seconds and try again, or set a new password." in answer.content
    assert "_auth_user_id" not in client.session


def test_after_the_wait_the_right_password_opens(world, client, at):
    for _ in range(5):
        attempt(client, WRONG)
    at(31)
    assert attempt(client, RIGHT).status_code == 302


def test_the_others_of_the_household_are_not_held_up(world, client, at):
    world.add_member("Bo", "helper")
    for _ in range(8):
        attempt(client, WRONG)
    assert attempt(client, "pw", email=f"bo.{world.farm.pk}@example.org").status_code == 302


def test_the_same_login_is_not_held_up_at_another_address(world, client, at):
    for _ in range(8):
        attempt(client, WRONG, address="192.0.2.1")
    assert attempt(client, RIGHT, address="198.51.100.7").status_code == 302


def test_letters_in_another_case_are_the_same_e_mail(world, client, at):
    for email in (
        "ada@example.org",
        "ADA@example.org",
        "Ada@Example.org",
        " ada@example.org",
        "aDa@example.org",
    ):
        attempt(client, WRONG, email=email)
    assert b"Wait 30 seconds" in attempt(client, RIGHT).content


def test_an_unknown_e_mail_is_answered_and_braked_like_a_known_one(world, client, at):
    known = [attempt(client, WRONG).content for _ in range(6)]
    unknown = [attempt(client, WRONG, email="nobody@example.org").content for _ in range(6)]
    assert [b"do not go together" in page for page in known] == [True] * 5 + [False]
    assert [b"do not go together" in page for page in unknown] == [True] * 5 + [False]


def test_signing_in_forgets_the_wrong_tries_before(world, client, at):
    for _ in range(4):
        attempt(client, WRONG)
    attempt(client, RIGHT)
    client.logout()
    for _ in range(4):
        attempt(client, WRONG)
    assert attempt(client, RIGHT).status_code == 302


def test_one_address_trying_many_e_mails_is_braked(world, client, at):
    for n in range(50):
        limits.sign_in(f"p{n}@example.org", "192.0.2.1", NOON).take()
    assert b"Wait 30 seconds" in attempt(client, RIGHT).content


def test_many_addresses_trying_one_e_mail_wait_a_minute_at_most(world, at):
    waits = []
    for n in range(220):
        waits.append(limits.sign_in("ada@example.org", f"192.0.2.{n}", NOON).take())
    assert waits[:200] == [0] * 200
    assert set(waits[200:]) == {30}
    assert EMAIL.wait(10_000) == 60


def test_the_admin_has_no_door_that_the_brake_does_not_hold(world, client, at):
    for _ in range(5):
        attempt(client, WRONG)
    typed = {"username": "ada@example.org", "password": RIGHT}
    answer = client.post(reverse("admin:login"), typed, REMOTE_ADDR="192.0.2.1", follow=True)
    assert answer.redirect_chain == [("/login/?next=%2Fadmin%2F", 302)]
    assert "_auth_user_id" not in client.session


def guess_from_everywhere(tries=260, email="ada@example.org"):
    """Guess from many addresses, from each once; return the last wait."""
    return [limits.sign_in(email, f"198.51.{n // 250}.{n % 250}", NOON).take() for n in range(tries)][-1]


def test_a_browser_that_signed_in_before_is_not_held_up_by_guessers_elsewhere(world, client, at):
    attempt(client, RIGHT)
    client.post(reverse("logout"))
    assert guess_from_everywhere() > 0
    assert b"Wait" in attempt(type(client)(), RIGHT).content
    assert attempt(client, RIGHT).status_code == 302


def test_nor_by_somebody_at_its_own_address(world, client, at):
    attempt(client, RIGHT)
    client.post(reverse("logout"))
    for n in range(60):
        limits.sign_in(f"p{n}@example.org", "192.0.2.1", NOON).take()
    assert attempt(client, RIGHT).status_code == 302


def test_a_known_browser_is_braked_by_its_own_wrong_tries(world, client, at):
    attempt(client, RIGHT)
    client.post(reverse("logout"))
    for _ in range(5):
        attempt(client, WRONG)
    assert b"Wait 30 seconds" in attempt(client, RIGHT, address="198.51.100.7").content


def test_a_browser_known_for_one_login_guesses_at_another_like_any(world, client, at):
    world.add_member("Bo", "helper")
    attempt(client, "pw", email=f"bo.{world.farm.pk}@example.org")
    client.post(reverse("logout"))
    assert guess_from_everywhere() > 0
    assert b"Wait" in attempt(client, RIGHT).content


def test_a_forged_mark_makes_no_browser_known(world, client, at):
    client.cookies[devices.COOKIE] = signing.dumps({"browser": "x", "logins": []}, salt="other")
    assert guess_from_everywhere() > 0
    assert b"Wait" in attempt(client, RIGHT).content


def test_the_mark_of_a_known_browser_names_nobody_and_is_out_of_scripts_reach(world, client, at):
    attempt(client, RIGHT)
    cookie = client.cookies[devices.COOKIE]
    assert "ada" not in json.dumps(signing.loads(cookie.value, salt=devices.SALT))
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Lax")


class Slow(LocMemCache):
    """A cache that is far away: the first question of each of 20 threads is answered when all have asked."""

    gate = threading.Barrier(20)
    asked = threading.local()

    def get(self, *args, **kwargs):
        found = super().get(*args, **kwargs)
        if not getattr(self.asked, "once", threading.current_thread() is threading.main_thread()):
            self.asked.once = True
            self.gate.wait(timeout=20)
        return found


@override_settings(CACHES={"default": {"BACKEND": f"{__name__}.Slow", "LOCATION": "slow"}})
def test_many_at_once_gain_nothing(at):
    """All ask whether there is a wait before any was counted."""

    def guess(_n):
        return Attempt([(PAIR, "ada 192.0.2.1")], NOON).take()

    cache.clear()
    with ThreadPoolExecutor(20) as pool:
        waits = list(pool.map(guess, range(20)))
    assert waits.count(0) == 5


def test_guesses_at_a_thousand_e_mails_do_not_make_the_brake_forget_one(world, client, at):
    for _ in range(5):
        attempt(client, WRONG)
    for n in range(1000):
        limits.sign_in(f"p{n}@example.org", f"203.0.{n // 250}.{n % 250}", NOON).take()
    assert b"Wait 30 seconds" in attempt(client, RIGHT).content


def test_neither_address_nor_e_mail_stands_in_the_cache_readably(at):
    limits.sign_in("ada@example.org", "192.0.2.1", NOON).take()
    keys = " ".join(cache._cache)
    assert "brake:pair:count:" in keys
    assert "ada@" not in keys
    assert "192.0.2.1" not in keys


def test_whoever_found_an_open_device_may_not_try_all_passwords(world, client, at):
    attempt(client, RIGHT)
    new = {"new_password1": "brood by the barn", "new_password2": "brood by the barn"}
    for _ in range(5):
        client.post(reverse("password-change"), new | {"old_password": WRONG})
    answer = client.post(reverse("password-change"), new | {"old_password": RIGHT})
    assert b"Wait 30 seconds and try again." in answer.content
    assert b"Wait 30 seconds" in client.post(reverse("second-step"), {"password": RIGHT}).content
    assert attempt(type(client)(), RIGHT).status_code == 302  # signing in is another matter
    at(31)
    assert client.post(reverse("password-change"), new | {"old_password": RIGHT}).status_code == 302


@pytest.mark.parametrize(
    "attempts, wait", [(4, 0), (5, 30), (6, 60), (7, 120), (9, 480), (10, 900), (99, 900)]
)
def test_waits_double_up_to_the_longest(attempts, wait):
    assert PAIR.wait(attempts) == wait


@given(
    limit=st.sampled_from([PAIR, ADDRESS, EMAIL, SIGN_UPS, Limit("any", 3, 77)]),
    attempts=st.integers(0, 10**6),
)
def test_waits_never_shrink_and_never_pass_the_longest(limit, attempts):
    assert limit.wait(attempts) <= limit.wait(attempts + 1) <= limit.longest


@given(seconds=st.lists(st.integers(0, 40), min_size=1, max_size=40))
def test_however_they_are_spaced_guesses_within_an_hour_stay_few(seconds):
    """Doubling waits: 5 free, then 30 + 60 + … + 900 s fill the hour within 12."""
    cache.clear()
    now, made = NOON, 0
    with time_machine.travel(NOON, tick=False) as clock:
        for pause in seconds * 3:
            clock.move_to(now)
            if limits.sign_in("ada@example.org", "192.0.2.1", now).take() == 0:
                made += 1
            now += timedelta(seconds=pause)
            if now > NOON + timedelta(seconds=3000):
                break
    assert made <= 12


@pytest.mark.parametrize(
    "seconds, said", [(1, "1 second"), (119, "119 seconds"), (120, "2 minutes"), (121, "3 minutes")]
)
def test_a_wait_is_said_in_seconds_or_whole_minutes(seconds, said):
    assert said_wait(seconds) == said
