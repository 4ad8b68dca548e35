"""The verbs of calendars read for days away: added unused, looked at, used, changed, left off, removed.

The history says that there is one, never where it is: what it keeps is not encrypted.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.utils.translation import gettext as _

from calendars.incoming import asking, queries, refreshing, rows, words
from calendars.incoming.models import OuterCalendar
from calendars.incoming.records import Unreadable
from farm.errors import BadInput
from farm.models import Farm
from farm.models.member import Role
from farm.services import aways, outside_days, stale
from farm.services.actor import Actor
from farm.services.channels import sealing
from farm.services.writing import Log, validate, write

#: Somebody who presses for it has a calendar asked no sooner than so long after the last time.
AGAIN_AFTER = timedelta(minutes=1)


def add(by: Actor, *, member_id: int, address: str, **chosen: Any) -> OuterCalendar:
    """Read a member's calendar and keep it, not used yet. Keepers for anybody, others for themselves.

    chosen: label, counts, least_hours, words, without. Raises BadInput by field, NotAllowed, NotFound.
    """
    member = aways.of(by, member_id)
    farm = Farm.objects.get(pk=by.farm_id)
    try:
        address = asking.address_of(address)
        row = OuterCalendar(farm=farm, member=member, host=asking.host_of(address), next_at=by.now)
        rows.choose(row, chosen)
        row.address = sealing.seal(address)
        validate(row)
        rows.room_for(member, address)
        got = refreshing.get(farm, member, address, rows.rules(row), by.today)
    except Unreadable as error:
        raise BadInput.at("address", words.of(error.why)) from error
    for name, value in refreshing.stored(got, by.now, by.today).items():
        setattr(row, name, value)
    with write(by, "add calendar for days away", role=Role.CHILD) as log:
        rows.room_for(aways.of(by, member_id), address)
        row.save(force_insert=True)
        rows.note(log, row, before=None, after=rows.plain(row))
        log.says(member, _("Calendar “%(name)s” added for %(member)s") % refreshing.words(row))
    return row


def read_with(by: Actor, calendar: OuterCalendar, **chosen: Any) -> refreshing.Got:
    """Return what a calendar says now, read by other rules; nothing is kept. Raises BadInput."""
    trial = OuterCalendar.objects.select_related("farm", "member").get(pk=calendar.pk)
    rows.choose(trial, chosen)
    validate(trial)
    try:
        address = sealing.open_sealed(trial.address)
        return refreshing.get(trial.farm, trial.member, address, rows.rules(trial), by.today)
    except Unreadable as error:
        raise BadInput.at("", words.of(error.why)) from error
    except sealing.SealBroken as error:
        raise BadInput.at("", words.of("sealed")) from error


def change(by: Actor, *, calendar_id: int, expected_version: int | None, **chosen: Any) -> OuterCalendar:
    """Change what of a calendar counts; it is read anew, and where it is used its days follow.

    Raises BadInput by field, Stale, NotAllowed, NotFound.
    """
    got = read_with(by, rows.of(by, calendar_id), **chosen)
    with write(by, "change calendar for days away", role=Role.CHILD) as log:
        row = rows.of(by, calendar_id)
        stale.check(row, expected_version)
        before = rows.plain(row)
        rows.choose(row, chosen)
        row.version += 1
        for name, value in refreshing.stored(got, by.now, by.today).items():
            setattr(row, name, value)
        validate(row)
        row.save()
        rows.note(log, row, before=before, after=rows.plain(row))
        log.says(row.member, _("Calendar “%(name)s” of %(member)s changed") % refreshing.words(row))
    refreshing.settle(farm_id=by.farm_id, now=by.now)
    return row


def switch(by: Actor, *, calendar_id: int, on: bool) -> OuterCalendar:
    """Use a calendar: its days become days away; or no longer: those to come go. Raises NotAllowed, NotFound."""
    with write(by, "use calendar for days away", role=Role.CHILD) as log:
        row = rows.of(by, calendar_id)
        if row.on != on:
            before = rows.plain(row)
            row.on, row.version = on, row.version + 1
            row.save(update_fields=["on", "version"])
            rows.note(log, row, before=before, after=rows.plain(row))
            _keep_days(log, row, on=on)
            text = (
                _("Calendar “%(name)s” of %(member)s is used")
                if on
                else _("Calendar “%(name)s” of %(member)s is not used")
            )
            log.says(row.member, text % refreshing.words(row))
    return row


def again(by: Actor, *, calendar_id: int) -> bool:
    """Ask for a calendar now, and return whether it answered. Raises BadInput when it was just asked, NotFound."""
    row = rows.of(by, calendar_id)
    last = max((at for at in (row.fetched_at, row.failed_at) if at), default=None)
    if last is not None and by.now - last < AGAIN_AFTER:
        raise BadInput.at("", _("It was asked just now. Wait a minute."))
    OuterCalendar.objects.filter(pk=row.pk).update(next_at=by.now)
    return refreshing.refresh(calendar_id=row.pk, now=by.now)


def remove(by: Actor, *, calendar_id: int) -> None:
    """Remove a calendar, and its days away to come. Raises NotAllowed, NotFound."""
    with write(by, "remove calendar for days away", role=Role.CHILD) as log:
        row = rows.of(by, calendar_id)
        _keep_days(log, row, on=False)
        log.says(row.member, _("Calendar “%(name)s” of %(member)s removed") % refreshing.words(row))
        rows.note(log, row, before=rows.plain(row), after=None)
        row.delete()


def _keep_days(log: Log, row: OuterCalendar, *, on: bool) -> None:
    spans = queries.spans_of(row) if on else []
    outside_days.replace(log, row.member, outside=row.uid, note=row.label, spans=spans)
