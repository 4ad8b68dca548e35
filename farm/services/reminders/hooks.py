"""What happens elsewhere and is told, or moves the times at which there is something to tell."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db.models.signals import post_save
from django.dispatch import receiver

from farm.models import Farm, HistoryEntry
from farm.planning.rota.records import CellChange
from farm.services.reminders import clock
from farm.services.reminders.changes import note
from farm.services.rota_rows import rota_changed

#: Writes about these may bring the next reminder forward: times of the rounds, the rota's rules, wishes, channels.
_MOVING = frozenset({"farm", "rotarules", "reminderwishes", "channel"})


@receiver(rota_changed)
def rota_news(
    farm: Farm, changes: Sequence[CellChange], now: datetime, by_member: int | None = None, **_more: Any
) -> None:
    """Gather what changed for those whose rounds it is, but for whoever changed it."""
    note(farm_id=farm.pk, cells=changes, now=now, but=by_member)


@receiver(post_save, sender=HistoryEntry)
def look_again(instance: HistoryEntry, created: bool, **_more: Any) -> None:
    """Have a farm looked at again after a write that may have moved its reminders."""
    if created and instance.noun in _MOVING:
        clock.soon(instance.farm_id, instance.at)
