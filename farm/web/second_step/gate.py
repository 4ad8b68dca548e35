"""Between the password and the farm: who owes a code is nobody yet, on every face that has sessions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.contrib.auth import login as sign_in
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import constant_time_compare

from farm.models import Login

MARK = "second_step"
HALF = "half_signed_in"
HALF_SECONDS = 600  # project default (judgement)
BACKEND = "django.contrib.auth.backends.ModelBackend"

Handler = Callable[[HttpRequest], HttpResponse]


@dataclass(frozen=True, slots=True)
class Half:
    """Somebody whose password was right and whose code is awaited. to: where they were going."""

    login: Login
    to: str


def gate(get_response: Handler) -> Handler:
    """Stand behind AuthenticationMiddleware: a session that was begun without the code it owes is nobody's.

    The sign-in begins none; this holds for every other way to begin one. Without a session cookie nothing is read.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        if settings.SESSION_COOKIE_NAME in request.COOKIES and not _has_passed(request):
            request.user = AnonymousUser()
        return get_response(request)

    return middleware


def begin_half(request: HttpRequest, login: Login, *, to: str, now: datetime) -> None:
    """Remember in the session that the password was right, under a new session key."""
    request.session.cycle_key()
    request.session[HALF] = {
        "login": login.pk,
        "at": now.timestamp(),
        "password": login.get_session_auth_hash(),
        "to": to,
    }


def half(request: HttpRequest, *, now: datetime) -> Half | None:
    """Return who is expected to give a code; None after HALF_SECONDS, or when their password changed meanwhile."""
    kept = request.session.get(HALF)
    if kept is None or not 0 <= now.timestamp() - kept["at"] <= HALF_SECONDS:
        return None
    login = Login.objects.filter(pk=kept["login"], is_active=True, second_step_at__isnull=False).first()
    if login is None or not constant_time_compare(kept["password"], login.get_session_auth_hash()):
        return None
    return Half(login, kept["to"])


def let_in(request: HttpRequest, login: Login) -> None:
    """Sign in whoever gave password and code; Django gives the session a new key."""
    request.session.pop(HALF, None)
    sign_in(request, login, backend=BACKEND)
    request.session[MARK] = _mark(login)


def keep_here(request: HttpRequest, login: Login) -> None:
    """Let this session alone live on when the second step was switched on or off, under a new key."""
    update_session_auth_hash(request, login)
    if login.second_step_at is None:
        request.session.pop(MARK, None)
    else:
        request.session[MARK] = _mark(login)


def _has_passed(request: HttpRequest) -> bool:
    login = request.user
    if not isinstance(login, Login) or login.second_step_at is None:
        return True
    return constant_time_compare(request.session.get(MARK, ""), _mark(login))


def _mark(login: Login) -> str:
    return "" if login.second_step_at is None else f"{login.pk} {login.second_step_at.timestamp():.6f}"
