"""The background jobs. Each fetches by id and calls one service; run twice or late, it does no harm.

A job that fails is tried again after 2, 4, 8… seconds and then left to the hourly sweep. One that waited
longer than an hour expires: the sweep has sent a younger one by then. Services are imported inside the jobs,
so that loading Django never loads all of them.
"""

from __future__ import annotations

import logging

from celery import Task
from django.core.management import call_command

from farm.web import clock
from tasks.app import app

log = logging.getLogger(__name__)

EXPIRES_SECONDS = 3600
RETRIES = 5


class Job(Task):
    """How every job of this project behaves."""

    autoretry_for = (Exception,)
    max_retries = RETRIES
    retry_backoff = 2
    retry_backoff_max = 600
    retry_jitter = True
    expires = EXPIRES_SECONDS
    acks_late = True
    ignore_result = True


def _farm_ids() -> list[int]:
    from farm.models import Farm

    return list(Farm.objects.order_by("pk").values_list("pk", flat=True))


@app.task(base=Job, name="roll_over")
def roll_over(*, farm_id: int) -> None:
    """Bring one farm up to today in its own time zone. A farm deleted meanwhile is no error."""
    from farm.errors import NotFound
    from farm.services import upkeep

    try:
        upkeep.roll_over(farm_id=farm_id, now=clock.now())
    except NotFound:
        log.info("farm %s is gone, nothing to roll over", farm_id)


@app.task(base=Job, name="refresh_calendars")
def refresh_calendars(*, farm_id: int) -> None:
    """Write one farm's calendars anew where their content changed. A farm deleted meanwhile is no error."""
    from calendars import services as calendars
    from farm.errors import NotFound

    try:
        calendars.refresh(farm_id=farm_id, now=clock.now())
    except NotFound:
        log.info("farm %s is gone, no calendars to refresh", farm_id)


@app.task(base=Job, name="roll_over_all")
def roll_over_all() -> int:
    """Send two jobs for every farm and return how many farms; more workers share them."""
    ids = _farm_ids()
    for farm_id in ids:
        roll_over.delay(farm_id=farm_id)
        refresh_calendars.delay(farm_id=farm_id)
    return len(ids)


@app.task(base=Job, name="clear_expired")
def clear_expired() -> None:
    """Remove what no longer opens anything: expired sessions and invitations."""
    from farm.services import upkeep

    call_command("clearsessions")
    upkeep.clear_expired(now=clock.now())
