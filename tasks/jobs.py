"""The background jobs. Each fetches by id and calls one service; run twice or late, it does no harm.

How one is retried and when it expires is `farm.dispatch.Job`. Services are imported inside the jobs, so that
loading Django never loads all of them.
"""

from __future__ import annotations

import logging

from django.core.management import call_command

from farm.dispatch import Job
from farm.web import clock
from tasks.app import app

log = logging.getLogger(__name__)


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


@app.task(base=Job, name="roll_over_all")
def roll_over_all() -> int:
    """Send two jobs for every farm and return how many farms; more workers share them."""
    ids = _farm_ids()
    for farm_id in ids:
        roll_over.delay(farm_id=farm_id)
        app.tasks["refresh_calendars"].delay(farm_id=farm_id)  # the calendars' own job
    return len(ids)


@app.task(base=Job, name="clear_expired")
def clear_expired() -> None:
    """Remove what no longer opens anything: expired sessions and invitations."""
    from farm.services import upkeep

    call_command("clearsessions")
    upkeep.clear_expired(now=clock.now())
