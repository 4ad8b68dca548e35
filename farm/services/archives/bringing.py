"""Brings a farm from an archive: a new farm of the same records, all of them or nothing."""

from __future__ import annotations

import logging
from datetime import date, datetime
from typing import IO

from django.db import DataError, IntegrityError, transaction
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Farm, Login, Member
from farm.models.member import Role
from farm.planning.window import Window
from farm.queries import agenda, planning, soundness
from farm.services.actor import Actor, local_day
from farm.services.archives import building
from farm.services.archives.opening import Archive, refuse
from farm.services.archives.reading import Read, read
from farm.services.archives.renumbering import Renumbering
from farm.services.archives.reserving import reserve
from farm.services.writing import write

logger = logging.getLogger(__name__)

VERB = "bring farm"
#: So many days of the new farm's agenda are worked out before it is believed. Project default (judgement).
_TRIED_DAYS = 14
_FAULTS = (ArithmeticError, AssertionError, AttributeError, LookupError, TypeError, ValueError)


def bring(file: IO[bytes], *, login: Login, as_member: str, now: datetime, face: str) -> Farm:
    """Make a new farm of an archive and give `login` one of its keepers. Returns the farm.

    as_member: which keeper the login becomes, by name; "" for the first. Raises BadInput at "file" or "as_member" with
    the reason; then nothing is saved.
    """
    archive = Archive(file)
    found = read(archive)
    keeper = _keeper(found, as_member.strip())
    drawn = building.pictures(archive, found)
    try:
        with transaction.atomic():
            renumbering = Renumbering(found.rows, reserve)
            building.write(found.rows, drawn, renumbering, now.date())
            farm = Farm.objects.get(pk=renumbering.number("farm", found.rows["farm"][0]["id"]))
            _welcome(farm, renumbering.number("member", keeper), found, login, now, face)
            _judge(farm, local_day(farm, now))
    except (IntegrityError, DataError) as refused:
        text = _("Its records break a rule that every farm keeps: %(rule)s")
        raise refuse(text, rule=str(refused).splitlines()[0][:160]) from refused
    farm.refresh_from_db()
    return farm


def _keeper(found: Read, wanted: str) -> int:
    """Return the old number of the keeper that the login becomes. Raises BadInput at "as_member"."""
    there = {
        row["name"]: row["id"]
        for row in reversed(found.rows["member"])
        if row["role"] == Role.KEEPER and row["left_on"] is None and isinstance(row["name"], str)
    }
    if not there:
        raise refuse(_("Nobody in it is a keeper: there would be no one to plan and decide."))
    if not wanted:
        return next(reversed(there.values()))
    if wanted not in there:
        text = _("No keeper of that farm is called so. Its keepers: %(names)s.") % {
            "names": ", ".join(reversed(there))
        }
        raise BadInput.at("as_member", text)
    return there[wanted]


def _welcome(farm: Farm, member: int, found: Read, login: Login, now: datetime, face: str) -> None:
    """Give the login its member, and say in the history where the farm came from."""
    keeper = Member.objects.get(farm=farm, pk=member)
    by = Actor(farm_id=farm.pk, face=face, now=now, today=local_day(farm, now), member=keeper, login=login)
    with write(by, VERB, role=Role.KEEPER) as log:
        log.change(keeper, login=login)
        log.says(None, _("Imported from an archive of %(day)s") % {"day": found.written_on})


def _judge(farm: Farm, today: date) -> None:
    """Refuse a farm that is not sound, or whose agenda or plan cannot be worked out. Raises BadInput."""
    if faults := soundness.problems(farm):
        raise refuse(_("Its records do not fit together: %(faults)s"), faults="; ".join(faults[:3]))
    try:
        agenda.for_farm(farm, Window(today, _TRIED_DAYS), today)
        planning.problem(farm, today)
    except _FAULTS as fault:
        logger.exception("the records of an archive were refused")
        raise refuse(_("Its records do not fit together: no agenda can be made of them.")) from fault
