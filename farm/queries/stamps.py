"""What a plan has read, as versions of rows: whoever adopts it is told what was written since."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from farm.models import HistoryEntry, Plan
from farm.queries import planning
from farm.queries.planning import Rows

#: Kinds of rows a plan depends on, as the history names them.
_READ = ("batch", "countentry", "farm", "housing", "stay")


def of(read: Rows, today: date) -> dict[str, Any]:
    """Return the stamps of what a plan made on `today` depends on, as JSON values.

    entry: the newest line of history. rows: versions by row; a ledger's is its newest line.
    """
    newest = HistoryEntry.objects.filter(farm=read.farm).order_by("-pk").values_list("pk", flat=True).first()
    rows: dict[str, Any] = {"farm": sorted(read.farm.move_weekdays)}
    rows |= {f"housing:{housing.pk}": housing.version for housing in read.housings}
    for batch in read.batches:
        if planning.is_gone(batch, today):
            continue
        rows[f"batch:{batch.pk}"] = batch.version
        rows[f"ledger:{batch.pk}"] = max((entry.pk for entry in batch.count_entries.all()), default=0)
        rows |= {f"stay:{stay.pk}": stay.version for stay in batch.stays.all()}
    return {"entry": newest or 0, "rows": rows}


def changed_since(plan: Plan, read: Rows | None = None) -> list[str]:
    """Return one line for each write since the plan was made that touches what it read; none when it still holds."""
    read = read or planning.rows(plan.farm)
    made_on = date.fromisoformat(plan.problem["start"])
    if of(read, made_on)["rows"] == plan.stamps["rows"]:
        return []
    return _lines(plan, plan.stamps) or [_("The farm has changed since this plan was made.")]


def _lines(plan: Plan, stamps: Mapping[str, Any]) -> list[str]:
    since = (
        HistoryEntry.objects.filter(farm=plan.farm, pk__gt=stamps["entry"], changes__model__in=_READ)
        .select_related("member")
        .distinct()
        .order_by("pk")
    )
    return [
        _("%(who)s: %(what)s") % {"who": entry.member or _("Featherdays"), "what": entry.summary}
        for entry in since
    ]
