"""The background jobs of reminders: who is due, one look at a farm, sending."""

from __future__ import annotations

import logging

from farm.dispatch import Job
from farm.web import clock
from tasks.app import app

log = logging.getLogger(__name__)

#: A job not begun by then is sent again by the sweep, which comes every minute. Seconds; project default (judgement).
EXPIRES = 120


@app.task(base=Job, name="remind_due")
def remind_due() -> int:
    """Send a job for every farm that has something to tell or to send, and return how many; more workers share them."""
    from farm.services.reminders import clock as due

    looks, sends = due.to_look_at(clock.now()), due.to_send(clock.now())
    for farm_id in looks:
        remind_farm.apply_async(kwargs={"farm_id": farm_id}, expires=EXPIRES)
    for farm_id in sends:
        send_waiting.apply_async(kwargs={"farm_id": farm_id}, expires=EXPIRES)
    return len(looks) + len(sends)


@app.task(base=Job, name="remind_farm")
def remind_farm(*, farm_id: int) -> None:
    """Make everything of one farm that is due. A farm deleted meanwhile is no error."""
    from farm.errors import NotFound
    from farm.services.reminders import look

    try:
        look.look(farm_id=farm_id, now=clock.now())
    except NotFound:
        log.info("farm %s is gone, nobody to remind", farm_id)


@app.task(base=Job, name="send_waiting")
def send_waiting(*, farm_id: int) -> None:
    """Send what waits on one farm. What fails is tried again later, by its own clock."""
    from farm.services.reminders import sending

    sending.send_waiting(farm_id=farm_id, now=clock.now)
