"""What the hourly sweep need not do again: each job that was done leaves how its farm stood when it began.

The notes are in the cache. Losing them costs jobs that change nothing; a job that failed or was lost leaves none, and
is sent again by the next sweep.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from celery import signals
from django.core.cache import cache

from farm.queries import sweep
from farm.web import clock

#: The jobs the sweep sends for a farm, in this order.
JOBS = ("roll_over", "refresh_alerts", "refresh_rota", "refresh_calendars")
#: How long a note holds at most: longer than a day, so that one sweep a day is the least. Seconds; judgement
KEPT = 26 * 3600

#: Where they wait.
QUEUE = "featherdays-sweep"

_stood: dict[str, tuple[str, str]] = {}


def due() -> Iterator[tuple[int, list[str]]]:
    """Yield the farms to which something may have happened since their jobs were done, and which jobs that is."""
    for page in sweep.pages(clock.now()):
        notes = cache.get_many([_key(name, farm_id) for farm_id in page for name in JOBS])
        for farm_id, stand in page.items():
            names = [name for name in JOBS if not stand or notes.get(_key(name, farm_id)) != stand]
            if names:
                yield farm_id, names


@signals.task_prerun.connect
def look(task_id: str, task: Any, kwargs: dict[str, Any], **_more: Any) -> None:
    """Keep how the farm stands before the job: what happens meanwhile must make it due again."""
    if task.name in JOBS and "farm_id" in kwargs:
        farm_id = kwargs["farm_id"]
        _stood[task_id] = (_key(task.name, farm_id), sweep.stand(farm_id, clock.now()))


@signals.task_postrun.connect
def note(task_id: str, state: str | None = None, **_more: Any) -> None:
    """Leave the note of a job that was done."""
    key, stand = _stood.pop(task_id, ("", ""))
    if stand and state == "SUCCESS":
        cache.set(key, stand, KEPT)


def _key(name: str, farm_id: int) -> str:
    return f"swept:{name}:{farm_id}"
