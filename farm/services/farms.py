"""Farms begin and change."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farm.errors import BadInput, Stale
from farm.models import Change, ChoreMark, Farm, Login, Member, Observation
from farm.models.member import Role
from farm.queries import zone_names
from farm.services import member_rules
from farm.services.actor import Actor, local_day
from farm.services.writing import validate, write

#: What a keeper may set; all else of a farm is the project's own.
SETTINGS = frozenset(
    {
        "name",
        "time_zone",
        "units",
        "first_weekday",
        "latitude",
        "longitude",
        "morning_at",
        "midday_at",
        "evening_at",
        "move_weekdays",
    }
)
#: Names the system lists that are no place's time.
_NO_PLACE = frozenset({"Factory", "localtime", "posixrules"})


def start(
    *, login: Login | None, keeper: str, name: str, time_zone: str, now: datetime, face: str, **fields: Any
) -> tuple[Farm, Member]:
    """Start a farm with its first keeper. Returns both. Raises BadInput by field; the keeper's name is `keeper`."""
    with transaction.atomic():
        _check_zone(time_zone)
        farm = Farm(name=name.strip(), time_zone=time_zone, **fields)
        validate(farm)
        farm.save()
        by = Actor(farm_id=farm.pk, face=face, now=now, today=local_day(farm, now), login=login)
        with write(by, "start farm", role=Role.KEEPER) as log:
            able = member_rules.starting(Role.KEEPER)
            member = Member(farm=farm, login=login, name=keeper.strip(), role=Role.KEEPER, **able)
            try:
                log.add(member)
            except BadInput as refused:
                # Both are called `name`; this one is the keeper's.
                raise BadInput(
                    {"keeper" if at == "name" else at: said for at, said in refused.fields.items()}
                ) from refused
            log.says(member, _("Farm %(farm)s started") % {"farm": farm})
    farm.refresh_from_db()
    return farm, member


def change(by: Actor, *, expected_version: int | None = None, move_days: bool = False, **fields: Any) -> Farm:
    """Change the farm's settings (`SETTINGS`).

    expected_version: the farm's version when the form was opened; Stale when its settings, not merely its birds, were
    changed since. A new time zone re-dates today: it is refused at the field until `move_days` says that the keeper
    knows (rounds are at the same clock times in the new zone; what was recorded keeps its instant). Raises BadInput by
    field, TypeError for a name that is no setting.
    """
    if unknown := sorted(set(fields) - SETTINGS):
        raise TypeError(f"not a farm's setting: {', '.join(unknown)}")
    if "name" in fields:
        fields["name"] = fields["name"].strip()
    with write(by, "change farm", role=Role.KEEPER) as log:
        farm = log.farm
        _check_not_stale(farm, expected_version)
        _check_together({name: fields.get(name, getattr(farm, name)) for name in SETTINGS})
        zone = fields.get("time_zone", farm.time_zone)
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


def _check_together(values: Mapping[str, Any]) -> None:
    """Judge what no single field can know. Raises BadInput."""
    _check_zone(values["time_zone"])
    if (values["latitude"] is None) != (values["longitude"] is None):
        missing = "latitude" if values["latitude"] is None else "longitude"
        raise BadInput.at(missing, _("Give both latitude and longitude, or neither."))
    for earlier, later in (("morning_at", "midday_at"), ("midday_at", "evening_at")):
        if None not in (values[earlier], values[later]) and values[earlier] >= values[later]:
            raise BadInput.at(later, _("The rounds of a day follow each other: this one must be later."))


def _check_not_stale(farm: Farm, expected_version: int | None) -> None:
    """A farm's version rises with every write to it, so only a later change of the settings themselves is stale."""
    if expected_version is None or farm.version == expected_version:
        return
    since = Change.objects.filter(entry__farm=farm, model="farm", row=farm.pk).select_related("entry__member")
    lines = [
        _("%(who)s: %(what)s") % {"who": one.entry.member or _("Featherdays"), "what": one.entry.summary}
        for one in since
        if one.after and one.after["version"] > expected_version
    ]
    if lines:
        raise Stale(
            _(
                "Somebody changed the settings while you had them open. Nothing was overwritten; look again and save"
                " once more."
            ),
            changes=lines,
            version=farm.version,
        )


def _has_records(farm: Farm) -> bool:
    return Observation.objects.filter(farm=farm).exists() or ChoreMark.objects.filter(farm=farm).exists()


def _check_zone(time_zone: str) -> None:
    if time_zone not in zone_names.known() - _NO_PLACE:
        raise BadInput.at("time_zone", _("Choose a time zone from the list, for example Europe/Berlin."))
