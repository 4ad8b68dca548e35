"""The background job of the calendars. It is here, not in `tasks`, because neither of the two imports the other."""

from __future__ import annotations

import logging

from celery import shared_task

from farm.dispatch import Job
from farm.errors import NotFound
from farm.web import clock

log = logging.getLogger(__name__)


@shared_task(base=Job, name="refresh_calendars")
def refresh_calendars(*, farm_id: int) -> None:
    """Write one farm's calendars anew where their content changed. A farm deleted meanwhile is no error.

    Days away that people took out make room for those their own calendars tell of.
    """
    from calendars import services
    from calendars.incoming import refreshing

    try:
        refreshing.settle(farm_id=farm_id, now=clock.now())
        services.refresh(farm_id=farm_id, now=clock.now())
    except NotFound:
        log.info("farm %s is gone, no calendars to refresh", farm_id)
