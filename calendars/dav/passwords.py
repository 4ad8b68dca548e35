"""The verbs of app passwords: made, switched off, used."""

from __future__ import annotations

import hashlib
import secrets
from datetime import date

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from calendars.dav.models import AppPassword
from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Member
from farm.models.member import Role
from farm.queries import lookup
from farm.services.actor import Actor
from farm.services.writing import write

#: Without what is taken for something else when it is typed from a screen: 5 bits a letter.
LETTERS = "abcdefghijkmnpqrstuvwxyz23456789"
GROUPS, GROUP = 7, 4  # 28 letters, 140 random bits
MOST = 20  # live ones a member; project default (judgement)


def make(by: Actor, *, member_id: int, label: str) -> tuple[AppPassword, str]:
    """Make an app password of a member and return it with the secret, which is never to be seen again.

    A keeper may make one for anybody, others for themselves. Raises BadInput by field, NotAllowed, NotFound.
    """
    with write(by, "make app password", role=Role.CHILD) as log:
        member = lookup.get(Member, farm_id=by.farm_id, pk=member_id)
        if member.left_on is not None:
            raise NotFound(_("This member has left the farm."))
        if by.member is not None and not may_have(by.member, member.pk):
            raise NotAllowed(_("Only a keeper may make an app password for somebody else."))
        if AppPassword.objects.filter(member=member, revoked_at__isnull=True).count() >= MOST:
            raise BadInput.at(
                "", _("There are %d app passwords already. Switch off one that is not used.") % MOST
            )
        secret = "-".join("".join(secrets.choice(LETTERS) for _n in range(GROUP)) for _g in range(GROUPS))
        made = AppPassword(
            farm=log.farm,
            member=member,
            label=label.strip(),
            secret_sha256=secret_hash(secret),
            created_at=by.now,
        )
        log.add(made)
        log.says(
            member,
            _("App password “%(label)s” made for %(member)s") % {"label": made.label, "member": member},
        )
    return made, secret


def revoke(by: Actor, *, password_id: int) -> AppPassword:
    """Switch an app password off at once; twice is once. Raises NotFound, also for one that is not yours."""
    with write(by, "switch app password off", role=Role.CHILD) as log:
        found = lookup.get(AppPassword, farm_id=by.farm_id, pk=password_id)
        if by.member is not None and not may_have(by.member, found.member_id):
            raise NotFound(
                _("There is no such %(thing)s on this farm.") % {"thing": found._meta.verbose_name}
            )
        if found.revoked_at is None:
            log.change(found, revoked_at=by.now)
            log.says(found.member, _("App password “%(label)s” switched off") % {"label": found.label})
    return found


def opened(name: str, secret: str) -> AppPassword | None:
    """Return the app password of a user name and secret, with its member and farm. None when the two do not belong
    together, it was switched off, the member left, their farm is closed, or their login may not sign in.
    """
    rows = AppPassword.objects.select_related("member__farm", "member__login")
    found = rows.filter(
        secret_sha256=secret_hash(secret),
        revoked_at__isnull=True,
        member__left_on__isnull=True,
        farm__closing_on__isnull=True,
    ).first()
    if found is None or user_name(found.member) != name.strip().casefold():
        return None
    return None if found.member.login is not None and not found.member.login.is_active else found


def used(password: AppPassword, today: date) -> None:
    """Note the day an app password was last used: one write a day at most."""
    if password.last_used_on is None or password.last_used_on < today:
        rows = AppPassword.objects.filter(pk=password.pk).exclude(last_used_on__gte=today)
        rows.update(last_used_on=today)


def seen_by(member: Member) -> QuerySet[AppPassword]:
    """Return the app passwords a member may see and switch off: a keeper all of the farm's, others their own."""
    rows = AppPassword.objects.filter(farm_id=member.farm_id).select_related("member")
    return rows if member.role == Role.KEEPER else rows.filter(member=member)


def may_have(member: Member, of_id: int) -> bool:
    """Say whether a member may make and switch off app passwords of the one numbered `of_id`."""
    return member.pk == of_id or member.role == Role.KEEPER


def user_name(member: Member) -> str:
    """Return what a task app signs in as. A member's name may change, and every app would be locked out."""
    return f"member-{member.pk}"


def secret_hash(secret: str) -> str:
    """Return what is kept of a secret, however its groups were typed. Long and random, it needs no slow hash."""
    bare = "".join(letter for letter in secret.casefold() if letter.isalnum())
    return hashlib.sha256(bare.encode("utf-8", "replace")).hexdigest()
