"""The background jobs of the API. They are here, not in `tasks`, because neither of the two imports the other."""

from __future__ import annotations

import logging

from celery import shared_task

from farm.dispatch import Job
from farm.web import clock

log = logging.getLogger(__name__)


@shared_task(base=Job, name="send_webhooks")
def send_webhooks(*, farm_id: int) -> None:
    """Tell a farm's webhooks what is new. A farm deleted meanwhile has none."""
    from api.webhooks import sending

    sending.send(farm_id=farm_id, now=clock.now)


@shared_task(base=Job, name="retry_webhooks")
def retry_webhooks() -> None:
    """Send a job for every farm that has a webhook whose time to be told again has come."""
    from api.webhooks import sending

    for farm_id in sending.due(now=clock.now()):
        send_webhooks.delay(farm_id=farm_id)


@shared_task(base=Job, name="forget_sent_requests")
def forget_sent_requests() -> None:
    """Remove stored answers that nobody will ask for again."""
    from api.core import keys

    keys.forget(now=clock.now())
