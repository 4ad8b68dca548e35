"""A login is given up: after a while it is gone, with the person's name everywhere; signing in before takes it back."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from datetime import datetime, timedelta

from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.db import transaction
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Change, Farm, HistoryEntry, Invitation, Login, Member
from farm.models.history import Face
from farm.models.member import Role
from farm.services import actor
from farm.services.farewell.members import forget_wholly
from farm.services.writing import name_of

log = logging.getLogger(__name__)

GRACE_DAYS = 14  # between giving up a login and its end; project default (judgement)


def give_up(login: Login, *, password: str, now: datetime) -> datetime:
    """Note that a login is given up, end all its sessions, and return the instant from which it is removed.

    Raises BadInput at "password", and for whoever is the only keeper of a farm that is open.
    """
    with transaction.atomic():
        login = Login.objects.select_for_update().get(pk=login.pk)
        if not login.check_password(password):
            raise BadInput.at("password", _("This is not your password."))
        if farms := alone_on(login):
            names = ", ".join(farm.name for farm in farms)
            raise BadInput.at(
                "",
                _(
                    "You are the only keeper who can sign in on: %(farms)s. First make somebody else a keeper there, or"
                    " close the farm."
                )
                % {"farms": names},
            )
        login.leaving_at = now + timedelta(days=GRACE_DAYS)
        login.save(update_fields=["leaving_at"])
        _end_sessions(login)
    return login.leaving_at


def take_back(login: Login) -> bool:
    """Keep a login that was given up, because its owner signed in again. Returns whether it was."""
    return bool(Login.objects.filter(pk=login.pk, leaving_at__isnull=False).update(leaving_at=None))


def alone_on(login: Login) -> list[Farm]:
    """Return the open farms on which nobody else who stays is a keeper that can sign in, by name."""
    others = Member.objects.filter(
        role=Role.KEEPER, left_on__isnull=True, login__is_active=True, login__leaving_at__isnull=True
    ).exclude(login=login)
    mine = Member.objects.filter(login=login, role=Role.KEEPER, left_on__isnull=True)
    open_ = Farm.objects.filter(pk__in=mine.values("farm_id"), closing_on__isnull=True)
    return list(open_.exclude(pk__in=others.values("farm_id")).order_by("name", "pk"))


def due(*, now: datetime) -> list[int]:
    """Return the logins whose time has come."""
    rows = Login.objects.filter(leaving_at__lte=now).order_by("pk")
    return list(rows.values_list("pk", flat=True))


def remove(*, login_id: int, now: datetime) -> bool:
    """Remove a login whose time has come, and forget its owner on every farm; return whether it is gone.

    One that was taken back, is not due, or is gone already is left alone; so is one without whom a farm that is open
    would have no keeper any more: the log says so.
    """
    with transaction.atomic():
        login = Login.objects.select_for_update().filter(pk=login_id, leaving_at__lte=now).first()
        if login is None:
            return False
        if farms := alone_on(login):
            log.warning("login %s stays: farm %s would have no keeper", login.pk, farms[0].pk)
            return False
        # Farms are locked in number order.
        for member in sorted(_ever(login), key=lambda one: (one.farm_id, one.pk)):
            by = actor.system(member.farm, face=Face.JOB, now=now)
            forget_wholly(by, member_id=member.pk, also={login.email, login.name})
        _forget_address(login.email)
        _end_sessions(login)
        kind = ContentType.objects.get_for_model(Login)
        LogEntry.objects.filter(content_type=kind, object_id=str(login.pk)).delete()
        login.delete()
    return True


def _ever(login: Login) -> Iterator[Member]:
    """Yield who the login is and was: members with it, and those who left and wrote with it."""
    yield from Member.objects.filter(login=login).select_related("farm")
    wrote = HistoryEntry.objects.filter(login=login, member__isnull=False).values("member_id")
    yield from Member.objects.filter(pk__in=wrote, login__isnull=True).select_related("farm")


def _forget_address(email: str) -> None:
    """Take an e-mail address out of invitations that others sent to it, and out of what the history keeps of them."""
    Invitation.objects.filter(email__iexact=email).update(email="")
    kind = name_of(Invitation())
    for column in ("before", "after"):
        for change in Change.objects.filter(model=kind, **{f"{column}__email__iexact": email}):
            Change.objects.filter(pk=change.pk).update(**{column: getattr(change, column) | {"email": ""}})


def _end_sessions(login: Login) -> None:
    """End every session of a login. Sessions do not name theirs but inside: each is opened."""
    key = str(login.pk)
    mine = [row.pk for row in Session.objects.iterator() if row.get_decoded().get("_auth_user_id") == key]
    Session.objects.filter(pk__in=mine).delete()
