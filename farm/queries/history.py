"""What was changed, by whom, from where."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from django.db.models import Model, QuerySet

from farm.models import Farm, HistoryEntry, OrderLine, ProgrammeVersion, Stay
from farm.models.owned import Owned


def entries(farm: Farm) -> QuerySet[HistoryEntry]:
    """Return the farm's history, newest first, with what a page of it needs."""
    return (
        HistoryEntry.objects.filter(farm=farm)
        .select_related("member", "login", "undone_by", "undoes")
        .prefetch_related("changes")
        .order_by("-at", "-pk")
    )


def of(thing: Owned) -> QuerySet[HistoryEntry]:
    """Return the history of one thing, newest first."""
    return entries(thing.farm).filter(noun=thing._meta.model_name, noun_id=thing.pk)


#: What shows ticks: they are many and say little, so a page of history folds them away.
TICKS = "choremark"


def about(
    farm: Farm,
    *,
    noun: str = "",
    noun_id: int | None = None,
    member_id: int | None = None,
    ticks: bool = True,
) -> QuerySet[HistoryEntry]:
    """Return the farm's history of one kind of thing or one thing, of one member, without ticks; newest first."""
    found = entries(farm)
    if noun:
        found = found.filter(noun=noun) if noun_id is None else found.filter(noun=noun, noun_id=noun_id)
    elif not ticks:
        found = found.exclude(noun=TICKS)
    return found if member_id is None else found.filter(member_id=member_id)


def nouns(farm: Farm) -> list[str]:
    """Return the kinds of things the farm's history is about, by model name; entries about many things have none."""
    found = HistoryEntry.objects.filter(farm=farm).order_by().values_list("noun", flat=True).distinct()
    return sorted(noun for noun in found if noun)


def names(farm: Farm, wanted: Mapping[type[Model], Collection[int]]) -> dict[tuple[type[Model], int], str]:
    """Return what the farm's records are called now, by model and number: one query a model, gone ones left out."""
    found = {}
    for model, numbers in wanted.items():
        rows = model._default_manager.filter(pk__in=numbers)
        if issubclass(model, Owned):
            rows = rows.filter(farm=farm)
        if model in (ProgrammeVersion, OrderLine):
            rows = rows.select_related("programme")
        elif model is Stay:
            rows = rows.select_related("batch", "housing")
        found.update({(model, row.pk): str(row) for row in rows})
    return found
