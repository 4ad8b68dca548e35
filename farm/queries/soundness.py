"""What must be true of every farm, judged from its rows alone: the last check when something went wrong."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from django.apps import apps

from farm.models import Batch, Farm, Housing, Stay
from farm.models.guards import LINKS
from farm.planning import heads as plan
from farm.queries import heads


def problems(farm: Farm) -> list[str]:
    """Return one plain line for each thing that cannot be right; an empty list for a sound farm."""
    return [*_ledgers(farm), *_ledger_signs(farm), *_stays(farm), *_shared(farm), *_links(farm)]


def _ledgers(farm: Farm) -> Iterator[str]:
    for batch in Batch.objects.filter(farm=farm).prefetch_related("count_entries"):
        low = heads.first_day_below_zero(batch)
        if low is not None:
            yield f"batch {batch.pk} has {low[1]} fewer than no birds on {low[0]}"


def _ledger_signs(farm: Farm) -> Iterator[str]:
    for batch in Batch.objects.filter(farm=farm):
        for entry in batch.count_entries.filter(kind="reversed").select_related("reverses"):
            if entry.reverses is None or entry.birds != -entry.reverses.birds:
                yield f"count entry {entry.pk} does not take back what it says"


def _stays(farm: Farm) -> Iterator[str]:
    for stay in Stay.objects.filter(farm=farm).select_related("batch", "housing"):
        if stay.start < stay.batch.arrived_on:
            yield f"stay {stay.pk} starts before its batch arrives"
        if stay.one_batch != stay.housing.one_batch:
            yield f"stay {stay.pk} does not carry its housing's rule"
    for batch in Batch.objects.filter(farm=farm).prefetch_related("count_entries", "stays"):
        lines, spans = heads.lines(list(batch.count_entries.all())), heads.spans(list(batch.stays.all()))
        got = plan.taken(lines, spans)
        for span in spans:
            if got[span.key] == 0 and _was_actual(batch, span.key):
                yield f"stay {span.key} is said to have happened without a bird"


def _was_actual(batch: Batch, key: str) -> bool:
    return any(str(stay.pk) == key and stay.actual for stay in batch.stays.all())


def _shared(farm: Farm) -> Iterator[str]:
    for housing in Housing.objects.filter(farm=farm, one_batch=True):
        last: tuple[int, date | None] | None = None
        for stay in housing.stays.order_by("start", "pk"):
            if last is not None and stay.batch_id != last[0] and (last[1] is None or last[1] > stay.start):
                yield f"housing {housing.pk} takes one batch, but has two on {stay.start}"
            last = (stay.batch_id, stay.end)


def _links(farm: Farm) -> Iterator[str]:
    tables = {model._meta.db_table: model for model in apps.get_app_config("farm").get_models()}
    for table, column, target in LINKS:
        theirs = tables[target]._default_manager.exclude(farm_id=farm.pk).values("pk")
        for row in tables[table]._default_manager.filter(farm_id=farm.pk, **{f"{column}__in": theirs}):
            yield f"{table} {row.pk} points to another farm's {target}"
