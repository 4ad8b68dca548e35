"""A worker told to stop finishes what it has begun; what takes longer goes back to the broker, for another worker.

Celery alone waits for ever, until somebody kills it: then Redis would keep the job to itself for hours
(`visibility_timeout`), and the file broker would have lost it.
"""

from __future__ import annotations

import logging
import os
import threading
from typing import Any

from celery import signals
from celery.worker import state
from django.conf import settings
from kombu.exceptions import MessageStateError

log = logging.getLogger(__name__)


@signals.worker_shutting_down.connect
def begin_countdown(**_more: Any) -> None:
    """Give the jobs at work FEATHERDAYS_STOP_SECONDS to finish."""
    timer = threading.Timer(settings.STOP_SECONDS, give_back_and_go)
    timer.daemon = True  # a worker that is done earlier does not wait for it
    timer.start()


def give_back_and_go() -> None:
    """Put what isn't finished back into the broker and end the process at once: its threads can't be ended otherwise.

    Jobs are harmless when they run twice, and each writes in transactions: what was open is rolled back.
    """
    try:
        for name in give_back(list(state.reserved_requests)):
            log.warning("job %s was not finished in %s s and waits again", name, settings.STOP_SECONDS)
    finally:
        logging.shutdown()
        os._exit(0)


def give_back(requests: list[Any]) -> list[str]:
    """Return requests to the broker and return the names of those that were not done yet."""
    names = []
    for request in requests:
        try:
            # At once, on this thread: Celery would leave it to its loop, which no longer runs.
            request.message.requeue()
        except MessageStateError:
            continue  # done meanwhile
        except Exception as error:  # whatever the broker's driver raises; the others are still to go back
            log.error("job %s could not be given back: %s", request.name, error)
        else:
            names.append(request.name)
    return names
