"""What a member wants to be told, and when."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any

from django.utils.translation import gettext as _

from farm.models import Farm, ReminderWishes
from farm.models.farm import Weekday
from farm.models.member import ROUND_NAMES, Role
from farm.services import stale
from farm.services.actor import Actor
from farm.services.reminders import times
from farm.services.reminders.own_channels import member_of
from farm.services.writing import write

FIELDS = (
    *(f"{name}_at" for name in ROUND_NAMES),
    *("outlook_weekday", "outlook_at", "changed", "missed", "quiet_from", "quiet_to"),
)
#: All project default (judgement).
BEFORE_ROUND = timedelta(minutes=30)
QUIET_FROM, QUIET_TO = time(21, 30), time(6, 30)
OUTLOOK_AT = time(18, 0)


def save(by: Actor, *, member_id: int, expected_version: int | None, **wanted: Any) -> ReminderWishes:
    """Save a member's wishes: FIELDS; what is not given stays. Raises Stale, BadInput, NotAllowed, NotFound."""
    member = member_of(by, member_id)
    unknown = set(wanted) - set(FIELDS)
    if unknown:
        raise TypeError(f"no such wishes: {sorted(unknown)}")
    with write(by, "reminders", role=Role.CHILD) as log:
        row = ReminderWishes.objects.filter(farm=log.farm, member=member).first()
        if row is None:
            row = ReminderWishes(farm=log.farm, member=member, **wanted)
            log.add(row)
        else:
            stale.check(row, expected_version)
            log.change(row, **wanted)
        log.says(row, _("Reminders of %(member)s changed") % {"member": member})
    return row


def suggested(farm: Farm) -> dict[str, Any]:
    """Return what suits most people: half an hour before each round, the week on the evening before it begins."""
    any_day = date(2000, 1, 1)
    found: dict[str, Any] = {
        f"{name}_at": (datetime.combine(any_day, times.round_clock(farm, name)) - BEFORE_ROUND).time()
        for name in ROUND_NAMES
    }
    return found | {
        "outlook_weekday": Weekday((farm.first_weekday - 1) % 7).value,
        "outlook_at": OUTLOOK_AT,
        "changed": True,
        "missed": True,
        "quiet_from": QUIET_FROM,
        "quiet_to": QUIET_TO,
    }
