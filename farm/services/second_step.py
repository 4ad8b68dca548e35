"""The second step of signing in: a code from an app on the telephone, or one of ten kept on paper.

Devices, codes and the throttle on wrong ones are django-otp's; `Login.second_step_at` says whether a code is asked for.
django-otp reads the clock itself.
"""

from __future__ import annotations

import math
import secrets
from dataclasses import dataclass
from datetime import datetime

import django_otp
from django.db import transaction
from django.utils.translation import gettext as _
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from farm.errors import BadInput
from farm.models import Login
from farm.queries import second_step
from farm.queries.tokens import token_hash

RECOVERY_CODES = 10
#: Three groups of four of these 31 signs: 59 bits, none taken for another on paper.
SIGNS = "abcdefghjkmnpqrstuvwxyz23456789"
GROUPS, GROUP = 3, 4
KEPT = 16  # what a StaticToken can hold
#: Wrong codes cost 1, 2, 4 … seconds up to 2**10, about 17 minutes, so that whoever has the password can't keep its
#: owner out for days: at most 85 guesses a day, each with three in a million. Project default (judgement).
MOST_COUNTED = 11


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of a code. wait: seconds before the next may be tried, when this one was not looked at."""

    good: bool
    wait: int = 0
    from_paper: bool = False


def begin(login: Login) -> TOTPDevice:
    """Return a new app for a login to scan, in place of one that was never confirmed. Raises BadInput when it is on."""
    with transaction.atomic():
        _locked(login, on=False)
        TOTPDevice.objects.filter(user=login, confirmed=False).delete()
        return TOTPDevice.objects.create(user=login, name="app", confirmed=False)


def try_draft(login: Login, code: str, *, now: datetime) -> Tried:
    """Try a code of the app that is about to be added; False without one."""
    device = second_step.draft(login)
    return Tried(good=False) if device is None else _try(login, device, tidied(code), now)


def switch_on(login: Login, *, now: datetime) -> list[str]:
    """Ask for codes from now on, and return the recovery codes, which are never shown again.

    Every session of the login ends; the caller keeps its own. Raises BadInput unless `try_draft` found a code good.
    """
    with transaction.atomic():
        _locked(login, on=False)
        device = second_step.draft(login)
        if device is None or device.last_t < 0:
            raise BadInput.at("code", _("Type a code from the app first."))
        device.confirmed = True
        device.save(update_fields=["confirmed"])
        _set(login, now)
        return _fresh_codes(login)


def try_code(login: Login, code: str, *, now: datetime) -> Tried:
    """Try a code of the login's app or of its paper. A good one is used up."""
    typed = tidied(code)
    if len(typed) == 6 and typed.isdigit():
        device = second_step.app(login)
        return Tried(good=False) if device is None else _try(login, device, typed, now)
    paper = StaticDevice.objects.filter(user=login).first()
    if paper is None:
        return Tried(good=False)
    return _try(login, paper, _kept(login, typed), now)


def new_codes(login: Login) -> list[str]:
    """Return fresh recovery codes; the ones before are void. Raises BadInput when the second step is off."""
    with transaction.atomic():
        _locked(login, on=True)
        return _fresh_codes(login)


def switch_off(login: Login) -> None:
    """Ask for no codes any more and forget app and recovery codes. Every session ends; the caller keeps its own."""
    with transaction.atomic():
        Login.objects.select_for_update().get(pk=login.pk)
        TOTPDevice.objects.filter(user=login).delete()
        StaticDevice.objects.filter(user=login).delete()
        _set(login, None)


def lift_wait(login: Login) -> None:
    """Forget wrong codes: who changed the password has shut out whoever tried them."""
    free = {"throttling_failure_count": 0, "throttling_failure_timestamp": None}
    TOTPDevice.objects.filter(user=login).update(**free)
    StaticDevice.objects.filter(user=login).update(**free)


def tidied(code: str) -> str:
    """Return a typed code without blanks, dashes and capitals."""
    return "".join(sign for sign in code.lower() if sign.isalnum())


def _locked(login: Login, *, on: bool) -> None:
    stored = Login.objects.select_for_update().get(pk=login.pk)
    if on and stored.second_step_at is None:
        raise BadInput.at("", _("The second step is off."))
    if not on and stored.second_step_at is not None:
        raise BadInput.at("", _("The second step is on already."))


def _set(login: Login, at: datetime | None) -> None:
    login.second_step_at = at
    login.save(update_fields=["second_step_at"])


def _try(login: Login, device: TOTPDevice | StaticDevice, token: str, now: datetime) -> Tried:
    # In a transaction of its own, which a later refusal can't undo: a wrong try stays counted.
    paper = isinstance(device, StaticDevice)
    if wait := _wait(device, now):
        return Tried(good=False, wait=wait, from_paper=paper)
    if django_otp.verify_token(login, device.persistent_id, token) is not None:
        return Tried(good=True, from_paper=paper)
    too_many = type(device).objects.filter(pk=device.pk, throttling_failure_count__gt=MOST_COUNTED)
    too_many.update(throttling_failure_count=MOST_COUNTED)
    return Tried(good=False, from_paper=paper)


def _wait(device: TOTPDevice | StaticDevice, now: datetime) -> int:
    allowed, why = device.verify_is_allowed()
    return 0 if allowed or why is None else max(1, math.ceil((why["locked_until"] - now).total_seconds()))


def _fresh_codes(login: Login) -> list[str]:
    StaticDevice.objects.filter(user=login).delete()
    paper = StaticDevice.objects.create(user=login, name="paper")
    codes = [_new_code() for _n in range(RECOVERY_CODES)]
    StaticToken.objects.bulk_create(
        StaticToken(device=paper, token=_kept(login, tidied(code))) for code in codes
    )
    return codes


def _new_code() -> str:
    return "-".join("".join(secrets.choice(SIGNS) for _n in range(GROUP)) for _m in range(GROUPS))


def _kept(login: Login, code: str) -> str:
    """Return what is stored of a recovery code, so that a copy of the database holds none."""
    return token_hash(f"{login.pk}:{code}")[:KEPT]
