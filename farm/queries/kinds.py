"""The types of birds a farm keeps, as batches of any size: what a keeper asks about before an order."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from django.utils.translation import gettext

from farm.models import Batch, Farm
from farm.planning import problem as planning
from farm.planning.problem import Arrival
from farm.queries import planned, programmes

#: A type stands for any number of its birds; this many keeps the rounding of survivors small.
_BIRDS = 100


def in_use(farm_id: int) -> list[tuple[str, str]]:
    """Return the types that the farm's batches follow or followed as (choice, name), the latest hatch first."""
    names = dict(programmes.choices(farm_id))
    found: dict[str, str] = {}
    for batch in _batches(farm_id):
        choice = choice_of(batch)
        if choice in names:
            found.setdefault(choice, gettext(names[choice]))
    return list(found.items())


def choice_of(batch: Batch) -> str:
    """Return what a batch follows, as `programmes.choices` names it."""
    programme = batch.programme_version.programme
    return str(programme.pk) if programme.edited else programme.built_in


def of(farm: Farm, choice: str, day: date, *, age_days: int = 1, key: str = "asked") -> planning.Batch:
    """Return a type as a batch arriving on `day`, so many days old. Raises NotFound for a choice that is none.

    It stays as long as the farm's latest batch of the type is to stay; for good where that one is.
    """
    shown = programmes.shown(farm.pk, choice)
    batch = planned.new_batch(
        shown.programme,
        key=key,
        name=gettext(shown.row.name if shown.own and shown.row else shown.programme.name),
        birds=_BIRDS,
        arrival=Arrival(day),
        age_days=age_days,
    )
    return replace(batch, leave_age_days=_leaving_age(farm, choice, age_days))


def _leaving_age(farm: Farm, choice: str, age_days: int) -> int | None:
    last = next((batch for batch in _batches(farm.pk) if choice_of(batch) == choice), None)
    if last is None or last.leaves_on is None:
        return None
    return max((last.leaves_on - last.hatch_day).days, age_days + 1)


def _batches(farm_id: int) -> list[Batch]:
    rows = Batch.objects.filter(farm_id=farm_id).select_related("programme_version__programme")
    return list(rows.order_by("-hatch_day", "-pk"))
