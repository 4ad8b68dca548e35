"""The background jobs of calendars read for days away."""

from __future__ import annotations

import logging

from celery import shared_task

from farm.dispatch import Job
from farm.errors import NotFound
from farm.web import clock

log = logging.getLogger(__name__)


@shared_task(base=Job, name="read_outer_calendar")
def read_outer_calendar(*, calendar_id: int) -> None:
    """Ask for one calendar if it is time. One removed meanwhile is no error."""
    from calendars.incoming import refreshing

    try:
        refreshing.refresh(calendar_id=calendar_id, now=clock.now())
    except NotFound:
        log.info("calendar %s is gone, nothing to read", calendar_id)


@shared_task(base=Job, name="read_outer_calendars")
def read_outer_calendars() -> int:
    """Send a job for every calendar that is to be asked now and return how many; each has an hour of its own."""
    from calendars.incoming import queries

    ids = queries.due(clock.now())
    for calendar_id in ids:
        read_outer_calendar.apply_async(kwargs={"calendar_id": calendar_id}, expires=600)
    return len(ids)
