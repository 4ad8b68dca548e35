"""Secret addresses that open one member's rounds for ticking, without a login: made, switched off, opened."""

from __future__ import annotations

import secrets
from datetime import date, datetime

from django.utils.translation import gettext as _

from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Member, PersonalLink
from farm.models.member import Role
from farm.queries import lookup
from farm.queries.tokens import token_hash
from farm.services.actor import Actor
from farm.services.writing import write

SECRET_BYTES = 24  # 192 bits, 32 characters in an address
MOST_LINKS = 20  # live ones a member; project default (judgement)


def make(by: Actor, *, member_id: int, label: str) -> str:
    """Make a personal link of a member and return its secret, which is never to be seen again.

    Keepers for anybody, others for themselves. Only its hash is kept: show it now or never. Raises BadInput by field,
    NotAllowed, NotFound.
    """
    with write(by, "make personal link", role=Role.CHILD) as log:
        member = of(by, member_id)
        if member.personal_links.filter(revoked_at__isnull=True).count() >= MOST_LINKS:
            raise BadInput.at(
                "", _("There are %d links already. Switch off one that is not used.") % MOST_LINKS
            )
        secret = secrets.token_urlsafe(SECRET_BYTES)
        link = PersonalLink(
            farm=log.farm,
            member=member,
            label=label.strip(),
            token_sha256=token_hash(secret),
            created_at=by.now,
        )
        log.add(link)
        log.says(
            member,
            _("Personal link “%(label)s” made for %(member)s") % {"label": link.label, "member": member},
        )
    return secret


def revoke(by: Actor, *, link_id: int) -> PersonalLink:
    """Switch a link off at once; switching it off twice is once. Raises NotFound, also for one that is not yours."""
    with write(by, "switch personal link off", role=Role.CHILD) as log:
        link = lookup.get(PersonalLink, farm_id=by.farm_id, pk=link_id)
        if not may_have(by, link.member_id):
            raise NotFound(_("There is no such %(thing)s on this farm.") % {"thing": link._meta.verbose_name})
        if link.revoked_at is None:
            log.change(link, revoked_at=by.now)
            log.says(link.member, _("Personal link “%(label)s” switched off") % {"label": link.label})
    return link


def opened(secret: str, *, now: datetime) -> PersonalLink:
    """Return the link of a secret, with its member and farm. Raises NotFound when it is unknown, switched off, its
    member left or its farm is closed. Whatever clock says `now`: once switched off, it never opens again.
    """
    found = (
        PersonalLink.objects.select_related("member__farm", "farm")
        .filter(token_sha256=token_hash(secret), revoked_at__isnull=True)
        .filter(member__left_on__isnull=True, farm__closing_on__isnull=True)
        .first()
    )
    if found is None:
        raise NotFound(_("This link does not work any more. Ask on your farm for a new one."))
    return found


def used(link: PersonalLink, today: date) -> None:
    """Note the day a link was last used: one write a day at most."""
    if link.last_used_on is None or link.last_used_on < today:
        PersonalLink.objects.filter(pk=link.pk).exclude(last_used_on__gte=today).update(last_used_on=today)


def of(by: Actor, member_id: int) -> Member:
    """Return the member whose links `by` may see and make. Raises NotAllowed, NotFound."""
    member = lookup.get(Member, farm_id=by.farm_id, pk=member_id)
    if member.left_on is not None:
        raise NotFound(_("This member has left the farm."))
    if not may_have(by, member.pk):
        raise NotAllowed(_("Only a keeper may have personal links of somebody else."))
    return member


def may_have(by: Actor, member_id: int) -> bool:
    """Say whether `by` may make and switch off links of the member numbered `member_id`."""
    return by.member is None or by.member.pk == member_id or by.member.role == Role.KEEPER
