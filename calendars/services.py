"""The verbs of the calendars: make a link, give it a new address, switch it off, note that it was used.

Building is in `calendars.building`; its two verbs are named here too.
"""

from __future__ import annotations

import secrets
from datetime import date

from django.utils.translation import gettext as _

from calendars import queries, wanted
from calendars.building import build, refresh
from calendars.choices import Scope
from calendars.editions import USUAL, Options
from calendars.models import CalendarLink
from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Member
from farm.models.member import Role
from farm.queries import lookup
from farm.queries.tokens import token_hash
from farm.services.actor import Actor
from farm.services.writing import Log, write

__all__ = ["MOST_LINKS", "build", "make_link", "refresh", "revoke_link", "rotate_link", "used"]

SECRET_BYTES = 24  # 192 bits
MOST_LINKS = 20  # live ones a member; project default (judgement)


def make_link(
    by: Actor,
    *,
    member_id: int,
    label: str,
    scope: str = Scope.MINE,
    language: str = "",
    housing_id: int | None = None,
    batch_id: int | None = None,
    options: Options = USUAL,
) -> tuple[CalendarLink, str]:
    """Make a calendar link for a member and return it with its secret, which is never to be seen again.

    A keeper may make one for anybody on the farm, others for themselves. housing_id, batch_id: of a scope that is
    about one. Give the secret to `queries.addresses`. Raises BadInput by field, NotAllowed, NotFound.
    """
    with write(by, "make calendar link", role=Role.CHILD) as log:
        member = _for_member(by, member_id)
        want = wanted.judged(
            member, scope, language, housing_id=housing_id, batch_id=batch_id, options=options
        )
        if queries.links_of(member).filter(revoked_at__isnull=True).count() >= MOST_LINKS:
            raise BadInput.at(
                "", _("There are %d links already. Switch off one that is not used.") % MOST_LINKS
            )
        link = CalendarLink(
            member=member,
            scope=want.scope,
            about=want.about,
            label=label.strip(),
            language=want.language,
            zone=want.options.zone,
            alarm_minutes=want.options.alarm_minutes,
            rounds=want.options.rounds,
            back_days=want.options.back_days,
            ahead_days=want.options.ahead_days,
        )
        secret = _add(log, link)
        said = _("Calendar link “%(label)s” made for %(member)s") % {"label": link.label, "member": member}
        log.says(member, said)
    return link, secret


def rotate_link(by: Actor, *, link_id: int) -> tuple[CalendarLink, str]:
    """Give a link a new address: a new one of the same kind, while the old address answers as switched off.

    Raises NotFound, also for a link that is off or not yours.
    """
    with write(by, "give calendar link a new address", role=Role.CHILD) as log:
        old = _yours(by, link_id)
        if old.revoked_at is not None or old.member.left_on is not None:
            raise NotFound(_("This link is switched off. Make a new one."))
        new = CalendarLink.objects.get(pk=old.pk)
        new.pk, new._state.adding = None, True
        new.last_used_on, new.last_client = None, ""
        log.change(old, revoked_at=by.now)
        secret = _add(log, new)
        log.says(old.member, _("Calendar link “%(label)s” given a new address") % {"label": old.label})
    return new, secret


def revoke_link(by: Actor, *, link_id: int) -> CalendarLink:
    """Switch a link off at once; switching it off twice is once. Raises NotFound, also for one that is not
    yours.
    """
    with write(by, "switch calendar link off", role=Role.CHILD) as log:
        link = _yours(by, link_id)
        if link.revoked_at is None:
            log.change(link, revoked_at=by.now)
            log.says(link.member, _("Calendar link “%(label)s” switched off") % {"label": link.label})
    return link


def used(link: CalendarLink, today: date, client: str = "") -> None:
    """Note the day a link was last used, and by which family of programs: one write a day, or when that changed."""
    if link.last_used_on is None or link.last_used_on < today or (client and link.last_client != client):
        rows = CalendarLink.objects.filter(pk=link.pk).exclude(last_used_on__gt=today)
        rows.update(last_used_on=today, **({"last_client": client} if client else {}))


def _add(log: Log, link: CalendarLink) -> str:
    secret = secrets.token_urlsafe(SECRET_BYTES)
    link.farm, link.token_sha256, link.created_at = log.farm, token_hash(secret), log.by.now
    log.add(link)
    return secret


def _yours(by: Actor, link_id: int) -> CalendarLink:
    link = lookup.get(CalendarLink, farm_id=by.farm_id, pk=link_id)
    if by.member is not None and not queries.links_seen_by(by.member).filter(pk=link.pk).exists():
        raise NotFound(_("There is no such %(thing)s on this farm.") % {"thing": link._meta.verbose_name})
    return link


def _for_member(by: Actor, member_id: int) -> Member:
    member = lookup.get(Member, farm_id=by.farm_id, pk=member_id)
    if member.left_on is not None:
        raise NotFound(_("This member has left the farm."))
    if by.member is not None and by.member.pk != member.pk and by.member.role != Role.KEEPER:
        raise NotAllowed(_("Only a keeper may make a calendar link for somebody else."))
    return member
