"""The people of a farm, and the links that give them a login."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext as _

from farm.errors import BadInput, NotFound
from farm.models import Invitation, Login, Member, Postponement, Swap
from farm.models.history import Face
from farm.models.member import Role
from farm.models.rota import SwapState
from farm.queries import lookup
from farm.queries.tokens import token_hash
from farm.services import member_rules, stale
from farm.services.actor import Actor, local_day
from farm.services.writing import Log, write

INVITATION_DAYS = 14


def add(by: Actor, *, name: str, role: str, **details: Any) -> Member:
    """Add a member without a login. `details` are of `member_rules.DETAILS`; without them they start as
    `member_rules.starting` says. Raises BadInput by field.
    """
    with write(by, "add member", role=Role.KEEPER) as log:
        member = add_in(log, name=name, role=role, **details)
        log.says(member, _("Member %(member)s added") % {"member": member})
    return member


def add_in(log: Log, *, name: str, role: str, **details: Any) -> Member:
    """Add a member inside an open write."""
    details = member_rules.tidied(details)
    member = Member(farm=log.farm, name=name.strip(), role=role, **member_rules.starting(role) | details)
    member_rules.check(Member(farm=log.farm), details, role)
    log.add(member)
    return member


def change(
    by: Actor,
    *,
    member_id: int,
    expected_version: int | None,
    name: str | None = None,
    role: str | None = None,
    **details: Any,
) -> Member:
    """Change a member's name, role and `details` (of `member_rules.DETAILS`); those not named stay.

    Who becomes a child loses what a child may never have. A farm keeps at least one keeper with a login. Raises Stale,
    BadInput by field.
    """
    with write(by, "change member", role=Role.KEEPER) as log:
        member = _present(by, member_id)
        stale.check(member, expected_version)
        name, role = member.name if name is None else name, role or member.role
        details = member_rules.tidied(details)
        member_rules.check(member, details, role)
        details |= member_rules.taken_from_a_child(role, details)
        log.change(member, name=name.strip(), role=role, **details)
        _keep_a_keeper(log, "role")
        log.says(member, _("Member %(member)s changed") % {"member": member})
    return member


def leave(by: Actor, *, member_id: int) -> Member:
    """Take a member off the farm: their login no longer opens it, what they recorded stays.

    A keeper may take off anybody; a helper may leave by themselves. An open invitation ends too, and so do their
    personal links, their share of the rota from today on, open swaps and the ways to reach them. Raises BadInput,
    NotAllowed, NotFound.
    """
    alone = by.member is not None and by.member.pk == member_id
    with write(by, "member leaves", role=Role.HELPER if alone else Role.KEEPER) as log:
        member = _present(by, member_id)
        member.invitations.filter(accepted_at__isnull=True).delete()
        log.change(member, left_on=by.today, login=None)
        _keep_a_keeper(log, "")
        _let_go(log, member)
        log.says(member, _("Member %(member)s left") % {"member": member})
    return member


def invite(by: Actor, *, member_id: int, email: str = "") -> str:
    """Return the secret of a new invitation for a member without a login; an older open one stops working.

    Only its hash is kept: show it now or never. Raises BadInput when the member can sign in already.
    """
    with write(by, "invite", role=Role.KEEPER) as log:
        member = _present(by, member_id)
        if member.login_id is not None:
            raise BadInput.at("", _("%(member)s can sign in already.") % {"member": member})
        member.invitations.filter(accepted_at__isnull=True).delete()
        secret = secrets.token_urlsafe(24)
        invitation = Invitation(
            farm=log.farm,
            member=member,
            token_sha256=token_hash(secret),
            email=email.strip(),
            created_at=by.now,
            expires_at=by.now + timedelta(days=INVITATION_DAYS),
        )
        log.add(invitation)
        log.says(member, _("%(member)s invited") % {"member": member})
    return secret


def invited(secret: str, *, now: datetime) -> Invitation:
    """Return the open invitation of a link's secret. Raises NotFound when it is unknown, used or too old."""
    found = (
        Invitation.objects.select_related("member", "farm")
        .filter(token_sha256=token_hash(secret), accepted_at__isnull=True, expires_at__gt=now)
        .filter(member__left_on__isnull=True)
        .first()
    )
    if found is None:
        raise NotFound(_("This invitation was used or is too old. Ask for a new one."))
    return found


def accept(secret: str, *, login: Login, now: datetime) -> Member:
    """Give `login` to the invited member. Raises NotFound, or BadInput when the login is on that farm already."""
    with transaction.atomic():
        opened = invited(secret, now=now)
        farm, member = opened.farm, opened.member
        today = local_day(farm, now)
        by = Actor(farm_id=farm.pk, face=Face.PAGE, now=now, today=today, member=member, login=login)
        with write(by, "accept invitation", role=Role.CHILD) as log:
            # Read again under the farm's lock: a link opened twice is accepted once.
            invitation = invited(secret, now=now)
            if Member.objects.filter(farm=farm, login=login, left_on__isnull=True).exists():
                raise BadInput.at("", _("You are on this farm already."))
            log.change(invitation.member, login=login)
            log.change(invitation, accepted_at=now)
            log.says(
                invitation.member, _("%(member)s accepted the invitation") % {"member": invitation.member}
            )
    return invitation.member


def _present(by: Actor, member_id: int) -> Member:
    member = lookup.get(Member, farm_id=by.farm_id, pk=member_id)
    if member.left_on is not None:
        raise NotFound(_("This member has left the farm."))
    return member


def _let_go(log: Log, member: Member) -> None:
    """End what only somebody who is there can have."""
    for link in member.personal_links.filter(revoked_at__isnull=True):
        log.change(link, revoked_at=log.by.now)
    put_off = Postponement.objects.filter(farm=log.farm, to_due__gte=log.by.today)
    still_to_come = {row.occurrence for row in put_off}
    for pin in member.pins.all():
        if pin.due >= log.by.today or pin.occurrence in still_to_come:
            log.remove(pin)
    for swap in Swap.objects.filter(Q(giver=member) | Q(taker=member), state=SwapState.OFFERED):
        log.change(swap, state=SwapState.WITHDRAWN, answered_at=log.by.now)
    # Worked out, and sealed addresses: neither belongs in the history.
    member.assignments.filter(day__gte=log.by.today).delete()
    member.channels.all().delete()


def _keep_a_keeper(log: Log, field: str) -> None:
    # Whoever has given up their login will be gone in some days.
    keepers = Member.objects.filter(
        farm=log.farm,
        role=Role.KEEPER,
        left_on__isnull=True,
        login__isnull=False,
        login__leaving_at__isnull=True,
    )
    if not keepers.exists():
        raise BadInput.at(field, _("A farm needs at least one keeper who can sign in."))
