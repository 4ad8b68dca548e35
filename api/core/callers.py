"""Who asks the API: a program with a token, or the pages' own session."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _
from ninja.errors import AuthenticationError
from ninja.security import APIKeyCookie, HttpBearer
from ninja.utils import check_csrf

from api.models import ApiToken, Scope
from farm.errors import NotAllowed
from farm.models import Farm, Member
from farm.models.history import Face
from farm.queries.tokens import token_hash
from farm.services.actor import Actor, local_day
from farm.web import clock
from farm.web.access import visit_of

#: Before every token, so that one that got somewhere by mistake is recognised, and blotted out of logs.
PREFIX = "fd_"
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})


@dataclass(frozen=True, slots=True)
class Caller:
    """A member of a farm, by way of a token or a session. `by` is given to services; token None: a session, which may
    all that its member may."""

    farm: Farm
    member: Member
    by: Actor
    token: ApiToken | None = None

    @property
    def name(self) -> str:
        """Return what is counted against throttles: the token, or the login."""
        return f"token{self.token.pk}" if self.token else f"login{self.member.login_id}"

    def require(self, role: str, scope: str) -> None:
        """Raise NotAllowed when the member or the token may not do this."""
        self.by.require(role)
        if self.token is not None and scope not in self.token.scopes:
            word = Scope(scope).label
            raise NotAllowed(_("This token may not “%(scope)s”. Make one that may.") % {"scope": word})


class ApiRequest(HttpRequest):
    """A request that was let in. shown_version, location: what the answer's headers will say."""

    caller: Caller
    shown_version: int | None
    location: str


def of(request: HttpRequest) -> Caller:
    """Return who asks.

    Raises AuthenticationError for nobody, NotAllowed for a session without its CSRF token and for a closed farm.
    """
    caller = _found(request)
    if caller.farm.closing_on is not None:
        raise NotAllowed(_("This farm is closed. A keeper can open it again on its page."))
    return caller


def _found(request: HttpRequest) -> Caller:
    kind, _space, secret = request.headers.get("Authorization", "").partition(" ")
    if kind:
        return _by_token(secret.strip()) if kind.lower() == "bearer" else _nobody()
    if settings.SESSION_COOKIE_NAME in request.COOKIES and request.user.is_authenticated:
        return _by_session(request)
    return _nobody()


def _by_token(secret: str) -> Caller:
    now = clock.now()
    token = (
        ApiToken.objects.select_related("member__farm", "member__login", "farm")
        .filter(token_sha256=token_hash(secret), revoked_at__isnull=True, expires_at__gt=now)
        .filter(member__left_on__isnull=True)
        .filter(member__login__is_active=True, member__login__leaving_at__isnull=True)
        .first()
    )
    if token is None:
        return _nobody()
    by = _actor(token.member, now)
    if token.last_used_on is None or token.last_used_on < by.today:
        ApiToken.objects.filter(pk=token.pk).update(last_used_on=by.today)
    return Caller(farm=token.farm, member=token.member, by=by, token=token)


def _by_session(request: HttpRequest) -> Caller:
    if request.method not in _SAFE and check_csrf(request) is not None:
        raise NotAllowed(
            _("The CSRF token is missing or wrong. Send it as X-CSRFToken, or use an API token.")
        )
    visit = visit_of(request)
    if visit is None:
        raise NotAllowed(_("This login belongs to no farm."))
    return Caller(farm=visit.farm, member=visit.member, by=_actor(visit.member, visit.by.now))


def _actor(member: Member, now: datetime) -> Actor:
    return Actor(
        farm_id=member.farm_id,
        face=Face.API,
        now=now,
        today=local_day(member.farm, now),
        member=member,
        login=member.login,
    )


def _nobody() -> Caller:
    raise AuthenticationError(message=_("Send a token that is valid: Authorization: Bearer fd_…"))


def clock_of(caller: Caller) -> timezone.override:
    """Return the context in which local times are the farm's."""
    return timezone.override(ZoneInfo(caller.farm.time_zone))


class TokenAuth(HttpBearer):
    """Names tokens in the schema; who asks was found out before (`door`)."""

    def __call__(self, request: HttpRequest) -> Caller | None:
        """Return the caller who came by a token."""
        caller: Caller = request.caller  # type: ignore[attr-defined]
        return caller if caller.token else None

    def authenticate(self, request: HttpRequest, token: str) -> None:
        """Never asked: `__call__` answers."""


class SessionAuth(APIKeyCookie):
    """Names the pages' session in the schema; who asks was found out before (`door`)."""

    param_name = settings.SESSION_COOKIE_NAME

    def __call__(self, request: HttpRequest) -> Caller | None:
        """Return the caller who came by a session."""
        caller: Caller = request.caller  # type: ignore[attr-defined]
        return None if caller.token else caller

    def authenticate(self, request: HttpRequest, key: str | None) -> None:
        """Never asked: `__call__` answers."""
