"""A customer's name is taken out of what calendars keep, when the farm forgets it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.dispatch import receiver

from calendars.models import CalendarBody, EntryVersion, TodoList
from farm.models import Farm
from farm.services.customers import forgotten


@receiver(forgotten)
def forget(farm: Farm, swap: Callable[[Any], Any], **_more: object) -> None:
    """Rewrite what is kept of entries, and drop finished calendars and lists: they are built again when asked for."""
    for version in EntryVersion.objects.filter(farm=farm):
        outline = swap(version.outline)
        if outline != version.outline:
            EntryVersion.objects.filter(pk=version.pk).update(outline=outline)
    CalendarBody.objects.filter(farm=farm).delete()
    TodoList.objects.filter(farm=farm).delete()
