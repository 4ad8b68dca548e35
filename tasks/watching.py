"""What is noted about every job: a line in the log, its time, and that a worker is at work."""

from __future__ import annotations

import logging
import time
from typing import Any

from celery import signals
from django.conf import settings

from farm.settings.logs import job_id, job_name
from farm.web import metrics

log = logging.getLogger("farm.jobs")

OUTCOMES = {"SUCCESS": "done", "RETRY": "again", "FAILURE": "failed"}
_began: dict[str, float] = {}


@signals.setup_logging.connect
def leave_logging_alone(**_more: Any) -> None:
    """Keep Celery from setting levels and handlers of its own: Django's LOGGING says what is written, and how."""


@signals.task_prerun.connect
def begins(task_id: str, task: Any, **_more: Any) -> None:
    """Put the job's name and number on every line this thread writes until it ends."""
    job_id.set(task_id)
    job_name.set(task.name)
    _began[task_id] = time.perf_counter()


@signals.task_postrun.connect
def ends(task_id: str, task: Any, state: str | None = None, **_more: Any) -> None:
    """Count the job and write its line."""
    seconds = time.perf_counter() - _began.pop(task_id, time.perf_counter())
    outcome = OUTCOMES.get(state or "", "other")
    if settings.METRICS:
        metrics.JOBS.labels(job=task.name, outcome=outcome).observe(seconds)
    fields = {"outcome": outcome, "ms": round(seconds * 1000, 1)}
    log.info("job %s %s %s ms", task.name, outcome, fields["ms"], extra=fields)
    job_id.set("")
    job_name.set("")


@signals.worker_ready.connect
def answer_prometheus(**_more: Any) -> None:
    """Open the worker's own door for Prometheus, where that is wished. A taken port costs the numbers, not the work."""
    if not settings.METRICS:
        return
    try:
        metrics.serve(settings.BIND, settings.METRICS_PORT)
    except OSError as error:
        log.error("no numbers of this worker: port %s: %s", settings.METRICS_PORT, error)
