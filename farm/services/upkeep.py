"""What a farm needs done at night, whether anyone looks or not. Each is safe to run twice."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from farm.models import Farm, Invitation, Notice, Stay
from farm.services import locks, offline
from farm.services.actor import local_day

NOTICE_DAYS = 60  # how long what was told is kept; project default (judgement)


def roll_over(*, farm_id: int, now: datetime) -> int:
    """Bring one farm to its local day: planned stays whose first day has come count as happened.

    Not those of birds that are only expected: they wait until the hatch or arrival is recorded. Returns how many did.
    Raises NotFound for a farm that is gone.
    """
    with transaction.atomic():
        farm = locks.farm(farm_id)
        waiting = Stay.objects.filter(farm=farm, actual=False, batch__expected=False)
        begun = waiting.filter(start__lte=local_day(farm, now)).update(actual=True)
        if begun:
            Farm.objects.filter(pk=farm.pk).update(version=farm.version + 1)
    return begun


def clear_expired(*, now: datetime) -> int:
    """Remove invitations that no longer open anything, messages and phones' keys of long ago; return how many
    invitations."""
    offline.forget_old(now=now)
    Notice.objects.filter(due_at__lt=now - timedelta(days=NOTICE_DAYS)).delete()
    return Invitation.objects.filter(accepted_at__isnull=True, expires_at__lt=now).delete()[0]
