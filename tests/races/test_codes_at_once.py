"""The same code given twice at the same moment, on real connections: it lets in once.

The race is run as it is, and once more with its guard off, to show that it is real.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from threading import Barrier, BrokenBarrierError
from typing import Any

import pytest
import time_machine
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from farm.errors import BadInput
from farm.models import Login
from farm.services import second_step
from farm.web import clock
from tests.conftest import NOON
from tests.races.test_two_at_once import at_once
from tests.web.otp_codes import code_of, wrong

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def login(transactional_db: None) -> Iterator[Login]:
    """A login at noon, where the clock stands."""
    with time_machine.travel(NOON, tick=False):
        yield Login.objects.create_user("ada@example.org", "correct horse battery")


def secret_of(login: Login) -> str:
    return second_step.begin(login).config_url.split("secret=")[1].split("&")[0]


def switched_on(login: Login) -> tuple[str, list[str]]:
    secret = secret_of(login)
    assert second_step.try_draft(login, code_of(secret), now=clock.now()).good
    return secret, second_step.switch_on(login, now=clock.now())


@pytest.fixture
def slow_to_use_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever found a recovery code good waits a second for others who do, before it is used up."""
    met, delete = Barrier(2), StaticToken.delete

    def later(token: StaticToken, *args: Any, **kwargs: Any) -> Any:
        with suppress(BrokenBarrierError):
            met.wait(timeout=1)
        return delete(token, *args, **kwargs)

    monkeypatch.setattr(StaticToken, "delete", later)


@pytest.mark.usefixtures("slow_to_use_up")
def test_a_recovery_code_given_twice_at_once_lets_in_once(login: Login) -> None:
    _secret, codes = switched_on(login)
    good: list[bool] = []

    def give() -> None:
        good.append(second_step.try_code(login, codes[0], now=clock.now()).good)

    at_once(give, give)

    assert sorted(good) == [False, True]
    assert StaticToken.objects.count() == 9


@pytest.mark.usefixtures("slow_to_use_up")
def test_without_the_lock_it_would_let_in_twice(login: Login) -> None:
    _secret, codes = switched_on(login)
    kept = second_step._kept(login, second_step.tidied(codes[0]))
    good: list[bool] = []

    def give() -> None:
        good.append(StaticDevice.objects.get().verify_token(kept))

    at_once(give, give)

    assert good == [True, True]


def test_a_code_of_the_app_given_thrice_at_once_lets_in_once(login: Login) -> None:
    secret, _codes = switched_on(login)
    code, good = code_of(secret, steps=1), list[bool]()

    def give() -> None:
        good.append(second_step.try_code(login, code, now=clock.now()).good)

    at_once(give, give, give)

    assert sorted(good) == [False, False, True]


def test_of_many_wrong_codes_at_once_one_is_looked_at_and_the_others_wait(login: Login) -> None:
    secret, _codes = switched_on(login)
    tried: list[second_step.Tried] = []

    def give() -> None:
        tried.append(second_step.try_code(login, wrong(code_of(secret)), now=clock.now()))

    at_once(*[give] * 6)

    assert not any(one.good for one in tried)
    assert TOTPDevice.objects.get().throttling_failure_count == 1


def test_switched_on_from_two_pages_at_once_it_has_one_set_of_codes(login: Login) -> None:
    secret = secret_of(login)
    assert second_step.try_draft(login, code_of(secret), now=clock.now()).good
    shown: list[list[str]] = []

    def confirm() -> None:
        shown.append(second_step.switch_on(Login.objects.get(pk=login.pk), now=clock.now()))

    ended = at_once(confirm, confirm)

    assert sorted(type(one) for one in ended if one is not None) == [BadInput]
    assert (len(shown), StaticToken.objects.count(), TOTPDevice.objects.count()) == (1, 10, 1)
