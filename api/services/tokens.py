"""Tokens: a program's key to one farm, made, switched off, and gone with its member."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from api.core.callers import PREFIX
from api.models import ApiToken
from farm.errors import BadInput, NotFound
from farm.models.member import Role
from farm.queries import lookup
from farm.queries.tokens import token_hash
from farm.services.actor import Actor
from farm.services.writing import write

SECRET_BYTES = 32
MOST_TOKENS = 20  # live ones a member; project default (judgement)
LONGEST_DAYS = 400  # how long a token may hold; project default (judgement)


def make(by: Actor, *, label: str, scopes: Sequence[str], expires_at: datetime) -> str:
    """Make a token in one's own name and return it, which is never to be seen again. Raises BadInput by field.

    Only its hash is kept. It never may more than its member may at the time it is used.
    """
    with write(by, "make token", role=Role.HELPER) as log:
        _check(by, expires_at)
        secret = PREFIX + secrets.token_urlsafe(SECRET_BYTES)
        token = ApiToken(
            farm=log.farm,
            member=by.member,
            label=label.strip(),
            token_sha256=token_hash(secret),
            scopes=list(scopes),
            created_at=by.now,
            expires_at=expires_at,
        )
        log.add(token)
        log.says(by.member, _("API token “%(label)s” made") % {"label": token.label})
    return secret


def revoke(by: Actor, *, token_id: int) -> ApiToken:
    """Switch a token off at once; twice is once. Keepers anybody's, others their own. Raises NotFound."""
    with write(by, "switch token off", role=Role.HELPER) as log:
        token = lookup.get(ApiToken, farm_id=by.farm_id, pk=token_id)
        if not _may_see(by, token):
            raise NotFound(
                _("There is no such %(thing)s on this farm.") % {"thing": token._meta.verbose_name}
            )
        if token.revoked_at is None:
            log.change(token, revoked_at=by.now)
            log.says(token.member, _("API token “%(label)s” switched off") % {"label": token.label})
    return token


def seen_by(by: Actor) -> QuerySet[ApiToken]:
    """Return the live tokens that `by` may see: a keeper all of the farm, others their own."""
    live = ApiToken.objects.filter(farm_id=by.farm_id, revoked_at__isnull=True, member__left_on__isnull=True)
    if by.member is not None and by.member.role != Role.KEEPER:
        live = live.filter(member=by.member)
    return live.select_related("member")


def _may_see(by: Actor, token: ApiToken) -> bool:
    return by.member is None or by.member.role == Role.KEEPER or token.member_id == by.member.pk


def _check(by: Actor, expires_at: datetime) -> None:
    if by.member is None or by.login is None:
        raise BadInput.at("", _("Only somebody with a login can have tokens."))
    if not by.now < expires_at <= by.now + timedelta(days=LONGEST_DAYS):
        raise BadInput.at("expires_at", _("A token holds for at most %d days.") % LONGEST_DAYS)
    if (
        ApiToken.objects.filter(member=by.member, revoked_at__isnull=True, expires_at__gt=by.now).count()
        >= MOST_TOKENS
    ):
        raise BadInput.at(
            "", _("There are %d tokens already. Switch off one that is not used.") % MOST_TOKENS
        )
