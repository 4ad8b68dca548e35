"""What was changed, by whom, from where."""

from __future__ import annotations

from django.db.models import QuerySet

from farm.models import Farm, HistoryEntry
from farm.models.owned import Owned


def entries(farm: Farm) -> QuerySet[HistoryEntry]:
    """Return the farm's history, newest first, with what a page of it needs."""
    return (
        HistoryEntry.objects.filter(farm=farm)
        .select_related("member", "login", "undone_by", "undoes")
        .prefetch_related("changes")
    )


def of(thing: Owned) -> QuerySet[HistoryEntry]:
    """Return the history of one thing, newest first."""
    return entries(thing.farm).filter(noun=thing._meta.model_name, noun_id=thing.pk)
