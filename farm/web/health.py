"""Is it alive, and can it work: two answers for whoever watches over the machine."""

from __future__ import annotations

import logging
from collections.abc import Callable
from datetime import datetime, timedelta

from celery import current_app
from django.db import connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from farm.web import clock, signs

log = logging.getLogger(__name__)

#: A worker leaves its sign every minute (`tasks.schedule`); after three missed ones it is late.
#: Project default (judgement)
LATE = timedelta(minutes=3, seconds=30)


@never_cache
@require_safe
def healthz(request: HttpRequest) -> HttpResponse:
    """Answer 200 while the process answers at all; it asks nobody else."""
    return JsonResponse({"process": "ok"})


@never_cache
@require_safe
def readyz(request: HttpRequest) -> HttpResponse:
    """Answer 200 when the database and the broker answer, otherwise 503 with the one that does not.

    How the workers are is told and never makes 503: pages work without one, and taking them away would help nobody.
    Reasons go to the log alone: they may name hosts, and this page is open to everyone.
    """
    state = {name: "ok" if _answers(name, ask) else "away" for name, ask in PARTS.items()}
    status = 200 if set(state.values()) == {"ok"} else 503
    return JsonResponse(state | {"worker": worker_state(clock.now())}, status=status)


def worker_state(now: datetime) -> str:
    """Return `ok`, `late`, or `unknown` when no worker has left a sign yet or the sign can't be read."""
    seen = signs.last("worker")
    if seen is None:
        return "unknown"
    return "ok" if now - seen <= LATE else "late"


def _answers(name: str, ask: Callable[[], None]) -> bool:
    try:
        ask()
    except Exception as error:  # whatever the driver raises, the answer is the same: away
        log.warning("%s does not answer: %s", name, error)
        return False
    return True


def _ask_database() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")


def _ask_broker() -> None:
    with current_app.connection_for_write() as link:
        link.ensure_connection(max_retries=1, interval_start=0, timeout=3)
        link.default_channel.queue_declare("featherdays", passive=False)


PARTS: dict[str, Callable[[], None]] = {"database": _ask_database, "broker": _ask_broker}
