"""The types of birds a keeper may ask about before an order, each as a batch of any size."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext

from farm.models import Batch, Farm
from farm.planning import problem as planning
from farm.planning.problem import Arrival
from farm.queries import headroom, planned, programmes, weather

#: A type stands for any number of its birds; this many keeps the rounding of survivors small.
_BIRDS = 100


def in_use(farm_id: int) -> list[tuple[str, str]]:
    """Return the types that the farm's batches follow or followed as (choice, name), the latest hatch first."""
    names = dict(programmes.choices(farm_id))
    found: dict[str, str] = {}
    for batch in _latest_first(farm_id):
        choice = headroom.choice(batch)
        if choice in names:
            found.setdefault(choice, gettext(names[choice]))
    return list(found.items())


def of(farm: Farm, choice: str, day: date, *, age_days: int = 0, key: str = "asked") -> planning.Batch:
    """Return a type as a batch arriving on `day`, so many days old. Raises NotFound for a choice that is none.

    It leaves at the age the farm's latest batch of the type leaves at; where none does, it stays.
    """
    shown = programmes.shown(farm.pk, choice)
    return planned.new_batch(
        shown.programme,
        key=key,
        name=gettext(shown.row.name if shown.own and shown.row else shown.programme.name),
        birds=_BIRDS,
        arrival=Arrival(day),
        age_days=age_days,
        leave_age_days=_leaving_age(farm.pk, choice, age_days),
        sky=weather.of(farm),
    )


def held(farm: Farm, choice: str, first: date, days: int = headroom.DAYS) -> tuple[date | None, ...]:
    """Return for chicks of a type arriving on `days` days from `first` when the nights let them outdoors."""
    return headroom.held(weather.of(farm), programmes.shown(farm.pk, choice).programme, first, days)


def _leaving_age(farm_id: int, choice: str, age_days: int) -> int | None:
    leaving = [
        (batch.leaves_on - batch.hatch_day).days
        for batch in _latest_first(farm_id)
        if batch.leaves_on is not None and headroom.choice(batch) == choice
    ]
    return max(leaving[0], age_days + 1) if leaving else None


def _latest_first(farm_id: int) -> list[Batch]:
    rows = Batch.objects.filter(farm_id=farm_id).select_related("programme_version__programme")
    return list(rows.order_by("-hatch_day", "-pk"))
