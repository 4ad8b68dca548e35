"""Farms begin and change."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import available_timezones

from django.db import transaction
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import ChoreMark, Farm, Login, Member, Observation
from farm.models.member import Role
from farm.services.actor import Actor, local_day
from farm.services.writing import validate, write


def start(
    *, login: Login | None, keeper: str, name: str, time_zone: str, now: datetime, face: str, **fields: Any
) -> tuple[Farm, Member]:
    """Start a farm with its first keeper. Returns both. Raises BadInput by field."""
    with transaction.atomic():
        _check_zone(time_zone)
        farm = Farm(name=name.strip(), time_zone=time_zone, **fields)
        validate(farm)
        farm.save()
        by = Actor(farm_id=farm.pk, face=face, now=now, today=local_day(farm, now), login=login)
        with write(by, "start farm", role=Role.KEEPER) as log:
            member = Member(farm=farm, login=login, name=keeper.strip(), role=Role.KEEPER)
            log.add(member)
            log.says(member, _("Farm %(farm)s started") % {"farm": farm})
    farm.refresh_from_db()
    return farm, member


def change(by: Actor, *, expected_version: int | None = None, move_days: bool = False, **fields: Any) -> Farm:
    """Change the farm's settings.

    A new time zone re-dates today: it is refused at the field until `move_days` says that the keeper knows (rounds are
    at the same clock times in the new zone; what was recorded keeps its instant). Raises BadInput.
    """
    with write(by, "change farm", role=Role.KEEPER) as log:
        farm = log.farm
        zone = fields.get("time_zone", farm.time_zone)
        _check_zone(zone)
        if zone != farm.time_zone and not move_days and _has_records(farm):
            raise BadInput.at(
                "time_zone",
                _(
                    "Rounds will be at the same clock times in the new zone, and readings near midnight may count for"
                    " another day. Tick the box below to go on."
                ),
            )
        log.change(farm, **fields)
        log.says(None, _("Farm settings changed"))
    farm.refresh_from_db()
    return farm


def _has_records(farm: Farm) -> bool:
    return Observation.objects.filter(farm=farm).exists() or ChoreMark.objects.filter(farm=farm).exists()


def _check_zone(time_zone: str) -> None:
    if time_zone not in available_timezones():
        raise BadInput.at("time_zone", _("Choose a time zone from the list, for example Europe/Berlin."))
