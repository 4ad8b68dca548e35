"""The one door to background work: ids only, after the transaction has committed.

A job must never see rows that may still be rolled back, nor hold a copy of one that has since changed. Jobs
are looked up by name in Celery's registry, so that the farm imports no job.
"""

from __future__ import annotations

import logging
import time
from functools import partial
from uuid import UUID

from celery import Task, current_app
from django.db import transaction
from kombu.exceptions import ChannelError, KombuError

log = logging.getLogger(__name__)

#: A broker that let somebody wait so long is left alone for a while, so that not every page waits for it. Seconds;
#: project default (judgement).
LONG_WAIT, PAUSE = 1.0, 30.0
_silent_until = 0.0  # on the monotonic clock; one for the process


class Job(Task):
    """How every job behaves.

    One that fails is tried again after 2, 4, 8… seconds and then left to the hourly sweep. One that waited
    longer than an hour expires: the sweep has sent a younger one by then.
    """

    autoretry_for = (Exception,)
    max_retries = 5
    retry_backoff = 2
    retry_backoff_max = 600
    retry_jitter = True
    expires = 3600
    acks_late = True
    ignore_result = True


def after_commit(name: str, **ids: int | str | UUID) -> None:
    """Send the job `name` with these ids once the current transaction commits, or now when there is none.

    A broker that is away is logged and nothing more: what the person asked for is saved, and the hourly sweep
    does the job's work later. LookupError for a name no job has, TypeError for a value that is no id: both
    are slips in the calling code.
    """
    task = _job(name)
    for field, value in ids.items():
        if isinstance(value, bool) or not isinstance(value, int | str | UUID):
            raise TypeError(f"{name}: {field} must be an id, not {type(value).__name__}")
    if not _waits_already(task, ids):
        transaction.on_commit(partial(_send, task, ids), robust=True)


def _waits_already(task: Task, ids: dict[str, int | str | UUID]) -> bool:
    """Say whether this very job will be sent by the open transaction: a hundred writes need one job, not a hundred.

    Django takes back with a savepoint what was asked for inside it, so what still waits outlives the asker.
    """
    return any(
        isinstance(send, partial) and send.func is _send and send.args == (task, ids)
        for _savepoints, send, _robust in transaction.get_connection().run_on_commit
    )


def _job(name: str) -> Task:
    try:
        job: Task = current_app.tasks[name]
    except KeyError as error:
        raise LookupError(f"no background job is called {name!r}") from error
    return job


def _send(task: Task, ids: dict[str, int | str | UUID]) -> None:
    global _silent_until
    plain = {field: str(value) if isinstance(value, UUID) else value for field, value in ids.items()}
    begun = time.monotonic()
    if begun < _silent_until:
        log.warning("the broker is silent, %s %s waits for the hourly sweep", task.name, plain)
        return
    try:
        task.apply_async(kwargs=plain, retry=False)
    except (KombuError, ChannelError, OSError) as error:
        if time.monotonic() - begun >= LONG_WAIT:
            _silent_until = time.monotonic() + PAUSE
        log.warning("the broker is away, %s %s waits for the hourly sweep: %s", task.name, plain, error)
