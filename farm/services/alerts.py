"""Alerts are raised when there is cause, kept while it lasts, and withdrawn when it does not. Safe to run twice."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.db.models import F, QuerySet

from farm import dispatch
from farm.errors import NotFound
from farm.models import Alert, Farm
from farm.queries import alerts as words
from farm.queries import causes
from farm.queries.causes import Cause, Causes
from farm.services import locks
from farm.services.actor import local_day


def refresh(*, farm_id: int, now: datetime) -> bool:
    """Bring a farm's alerts up to now; return whether anybody is to be written to.

    What is over is closed in silence; what no longer holds is withdrawn, and whoever was told of it will be told so.
    Raises NotFound for a farm that is gone.
    """
    farm = Farm.objects.filter(pk=farm_id).first()
    if farm is None:
        raise NotFound("farm")
    found = causes.of(farm, local_day(farm, now), now)  # takes a while with many birds: before the lock
    with transaction.atomic():
        locks.farm(farm_id)
        changed = _close(farm, found, now) + _raise(farm, found, now)
        if changed:
            Farm.objects.filter(pk=farm_id).update(version=F("version") + 1)
            dispatch.after_commit("refresh_calendars", farm_id=farm_id)
        return to_tell(farm_id).exists() or to_take_back(farm_id).exists()


def to_tell(farm_id: int) -> QuerySet[Alert]:
    """Return the open alerts nobody was written to about."""
    return Alert.objects.filter(farm_id=farm_id, withdrawn_at__isnull=True, told_at__isnull=True)


def to_take_back(farm_id: int) -> QuerySet[Alert]:
    """Return the alerts that people were told of, that no longer hold, and that nobody has taken back yet."""
    return Alert.objects.filter(
        farm_id=farm_id, withdrawn_at__isnull=False, told_at__isnull=False, taken_back_at__isnull=True
    )


def _close(farm: Farm, found: Causes, now: datetime) -> int:
    """Close what is over or no longer holds, and return how many."""
    today, holding = local_day(farm, now), {cause.key for cause in found.causes}
    closed = 0
    for alert in Alert.objects.filter(farm=farm, withdrawn_at__isnull=True):
        over = words.is_past(alert, today)
        if over or (alert.kind in found.known and alert.key not in holding):
            alert.withdrawn_at = now
            alert.taken_back_at = now if over else None  # nobody need hear that a night is over
            alert.save(update_fields=["withdrawn_at", "taken_back_at"])
            closed += 1
    return closed


def _raise(farm: Farm, found: Causes, now: datetime) -> int:
    """Raise what is new, and return how many."""
    standing = set(Alert.objects.filter(farm=farm, withdrawn_at__isnull=True).values_list("key", flat=True))
    new = [cause for cause in found.causes if cause.sure and cause.key not in standing]
    Alert.objects.bulk_create([_row(farm, cause, now) for cause in new])
    return len(new)


def _row(farm: Farm, cause: Cause, now: datetime) -> Alert:
    return Alert(
        farm=farm,
        kind=cause.kind.value,
        key=cause.key,
        batch=cause.batch,
        housing=cause.housing,
        day=cause.day,
        values=cause.values,
        raised_at=now,
    )
