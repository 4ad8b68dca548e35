"""The feed of changes: every write on the farm in the order it was saved, for a machine that keeps up.

Numbers of writes rise within a farm in the order in which they were saved: each takes its number under the farm's lock,
and keeps the lock until it is committed. So whoever has read up to a number has missed nothing below it.
"""

from __future__ import annotations

from typing import Any

from ninja import Field, Query, Router, Schema

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.shapes import In
from api.models import Scope
from api.verbs import VERBS
from api.webhooks.events import Event, event
from farm.models import HistoryEntry
from farm.models.member import Role

router = Router(tags=["History"])

_DESCRIPTION = f"""\
Return the writes after a number, oldest first, with the records they touched.

Ask with `since=0` first, afterwards with the `next` of the answer before, as often as you like; nothing is missed and
nothing comes twice. Webhooks tell the same events.

The `type` of an event is its noun, a dot and its verb with underscores, for example `batch.start_batch`. Verbs:
{", ".join(VERBS)}.
"""


class Since(In):
    """Where to begin."""

    since: int = Field(0, ge=0, le=2**63 - 1, description="Number of the last event that is known.")
    limit: int = Field(50, ge=1, le=pages.MOST, description="How many at most.")


class Changes(Schema):
    """Events in the order they were saved. next: ask with it as `since` the next time, also when there were none."""

    items: list[Event]
    next: int


@router.get("/", response=Changes, description=_DESCRIPTION)
@needs(Role.KEEPER, Scope.READ)
def list_changes(request: ApiRequest, query: Query[Since]) -> dict[str, Any]:
    """Return the writes after a number, oldest first, with the records they touched."""
    rows = HistoryEntry.objects.filter(farm=request.caller.farm, pk__gt=query.since).order_by("pk")
    found = [event(entry) for entry in rows.prefetch_related("changes")[: query.limit]]
    return {"items": found, "next": found[-1]["id"] if found else query.since}
