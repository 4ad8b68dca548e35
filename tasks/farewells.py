"""The background jobs of leaving for good: farms and logins whose time has come, one job each."""

from __future__ import annotations

import logging

from farm.dispatch import Job
from farm.web import clock
from tasks.app import app

log = logging.getLogger(__name__)


@app.task(base=Job, name="remove_farm")
def remove_farm(*, farm_id: int) -> None:
    """Remove one closed farm whose time has come. One that was kept, or is gone already, is no error."""
    from farm.errors import NotFound
    from farm.services.farewell import farms

    try:
        gone = farms.remove(farm_id=farm_id, now=clock.now())
    except NotFound:
        log.info("farm %s is gone, nothing to remove", farm_id)
    else:
        log.info("farm %s: %s rows removed", farm_id, sum(gone.values()))


@app.task(base=Job, name="remove_login")
def remove_login(*, login_id: int) -> None:
    """Remove one login whose time has come. One that was taken back, or is gone already, is no error."""
    from farm.services.farewell import logins

    logins.remove(login_id=login_id, now=clock.now())


@app.task(base=Job, name="say_farewells")
def say_farewells() -> int:
    """Send a job for every farm and login whose time has come and return how many."""
    from farm.services.farewell import farms, logins

    now = clock.now()
    farm_ids, login_ids = farms.due(now=now), logins.due(now=now)
    for farm_id in farm_ids:
        remove_farm.delay(farm_id=farm_id)
    for login_id in login_ids:
        remove_login.delay(login_id=login_id)
    return len(farm_ids) + len(login_ids)
