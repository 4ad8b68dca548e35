"""Calendars asked anew: by a job, or because somebody presses for it. What was known stays when nothing comes."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from calendars.incoming import asking, queries, reading, records, rows
from calendars.incoming.models import OuterCalendar
from calendars.incoming.records import Reading, Rules, Unreadable
from farm.errors import NotFound
from farm.models import Farm, Member
from farm.models.history import Face
from farm.models.member import Role
from farm.services import outside_days
from farm.services.actor import Actor, local_day, system
from farm.services.channels import sealing
from farm.services.writing import write

#: A calendar is asked every hour; after failures 1, 2, 3 … twice as long each time, up to a limit.
#: All project default (judgement).
WAIT, LONGEST_WAIT = timedelta(hours=1), timedelta(hours=24)
#: Nobody else asks meanwhile, longer than asking and reading take.
TAKEN = timedelta(minutes=5)


@dataclass(frozen=True, slots=True)
class Got:
    """A calendar's answer, read."""

    answer: asking.Answer
    reading: Reading


def get(farm: Farm, member: Member, address: str, rules: Rules, today: date) -> Got:
    """Ask for a calendar and read it. Takes seconds: never inside a write. Raises Unreadable."""
    answer = asking.ask(address)
    return Got(answer, reading.read(answer.octets or b"", queries.asked(farm, member, rules, today)))


def stored(got: Got, now: datetime, today: date) -> dict[str, object]:
    """Return a reading as the columns of a calendar."""
    values = records.reading_json(got.reading)
    return {
        "etag": got.answer.etag,
        "modified": got.answer.modified,
        "spans": values["spans"],
        "seen": sealing.seal(json.dumps(values)),
        "read_on": today,
        "fetched_at": now,
        "next_at": now + WAIT,
        "failed_at": None,
        "failure": "",
        "failures": 0,
    }


def refresh(*, calendar_id: int, now: datetime) -> bool:
    """Ask for one calendar if it is time, and return whether it answered. Safe to run twice, and beside others.

    What it says becomes days away. A failure is written down with when to ask again; it is no error. Raises NotFound.
    """
    calendar = OuterCalendar.objects.select_related("farm", "member").filter(pk=calendar_id).first()
    if calendar is None:
        raise NotFound("calendar")
    taken = OuterCalendar.objects.filter(pk=calendar_id, next_at__lte=now).update(next_at=now + TAKEN)
    return bool(taken) and _refreshed(calendar, now)


def _refreshed(calendar: OuterCalendar, now: datetime) -> bool:
    farm, today = calendar.farm, local_day(calendar.farm, now)
    # Asked whole once in a while: the days ahead move on though nothing there changes.
    whole = calendar.read_on is None or not timedelta(0) <= today - calendar.read_on < _spare()
    known = {} if whole else {"etag": calendar.etag, "modified": calendar.modified}
    mine = OuterCalendar.objects.filter(pk=calendar.pk, version=calendar.version)
    try:
        answer = asking.ask(sealing.open_sealed(calendar.address), **known)
        if answer.octets is None:
            calm = {"failed_at": None, "failure": "", "failures": 0}
            mine.update(fetched_at=now, next_at=now + WAIT, **calm)
        else:
            rules = rows.rules(calendar)
            found = reading.read(answer.octets, queries.asked(farm, calendar.member, rules, today))
            mine.update(**stored(Got(answer, found), now, today))
    except Unreadable as error:
        _failed(calendar, error.why, now)
        return False
    except sealing.SealBroken:
        _failed(calendar, "sealed", now)
        return False
    settle(farm_id=farm.pk, now=now)
    return True


def _spare() -> timedelta:
    return timedelta(days=queries.SPARE_DAYS)


def _failed(calendar: OuterCalendar, why: str, now: datetime) -> None:
    failures = min(calendar.failures + 1, 1000)
    wait = min(WAIT * 2 ** min(failures - 1, 10), LONGEST_WAIT)
    OuterCalendar.objects.filter(pk=calendar.pk, version=calendar.version).update(
        failed_at=now, failure=why, failures=failures, next_at=now + wait
    )


def settle(*, farm_id: int, now: datetime) -> int:
    """Make a farm's days away what its calendars told last, and return how many rows changed. Asks nobody.

    A calendar of somebody who left goes. Run twice, it changes nothing the second time.
    """
    OuterCalendar.objects.filter(farm_id=farm_id, member__left_on__isnull=False).delete()
    used = OuterCalendar.objects.filter(farm_id=farm_id, on=True).order_by("member_id", "pk")
    found = list(used.select_related("farm", "member__login"))
    return sum(_settled(system(each.farm, face=Face.JOB, now=now), each) for each in found)


def _settled(by: Actor, calendar: OuterCalendar) -> int:
    with write(by, "days away by calendar", role=Role.CHILD) as log:
        now = OuterCalendar.objects.filter(pk=calendar.pk, on=True).select_related("member").first()
        if now is None:  # switched off meanwhile
            return 0
        spans = queries.spans_of(now)
        count = outside_days.replace(log, now.member, outside=now.uid, note=now.label, spans=spans)
        if count:
            log.says(now.member, _("Days away of %(member)s by calendar “%(name)s”") % words(now))
    return count


def words(calendar: OuterCalendar) -> dict[str, object]:
    """Return what the history calls a calendar."""
    return {"member": calendar.member, "name": calendar.label}
