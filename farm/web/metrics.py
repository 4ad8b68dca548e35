"""Numbers for Prometheus: what this process did, and how things stand. Off unless FEATHERDAYS_METRICS=1.

Each process has its own: a web process its requests, a worker its jobs. Run one web process an address and let
Prometheus add them up; what stands in database and broker is the same from whichever process it is asked.
"""

from __future__ import annotations

import hmac
import threading
from collections.abc import Callable, Iterable, Iterator
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from celery import current_app
from django.conf import settings
from django.db import close_old_connections
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from prometheus_client import (
    CONTENT_TYPE_LATEST,
    CollectorRegistry,
    Counter,
    Histogram,
    disable_created_metrics,
    generate_latest,
)
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.process_collector import ProcessCollector
from prometheus_client.registry import Collector

from farm.models import Farm
from farm.services.backups import folder
from farm.web import clock, signs

disable_created_metrics()  # one line more for each number, which nobody asks for
REGISTRY = CollectorRegistry()
#: Seconds. A page is quick, a plan is not: project default (judgement)
_PAGES = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10)
_WORK = (0.01, 0.05, 0.1, 0.5, 1, 5, 15, 60, 300)
REQUESTS = Histogram(
    "featherdays_request_seconds",
    "Requests by name of the route, never by path.",
    ["route", "method", "status"],
    buckets=_PAGES,
    registry=REGISTRY,
)
JOBS = Histogram(
    "featherdays_job_seconds",
    "Background jobs by name and outcome: done, again or failed.",
    ["job", "outcome"],
    buckets=_WORK,
    registry=REGISTRY,
)
UNREAD = Counter(
    "featherdays_unread_total",
    "How often a number could not be told, by number.",
    ["what"],
    registry=REGISTRY,
)
ProcessCollector(registry=REGISTRY)


def farms() -> float:
    """Return how many farms there are."""
    return float(Farm.objects.count())


def waiting() -> float:
    """Return how many jobs wait in the broker."""
    with current_app.connection_for_write() as link:
        link.ensure_connection(max_retries=1, interval_start=0, timeout=3)
        channel, names = link.default_channel, [queue.name for queue in settings.CELERY_TASK_QUEUES]
        return float(sum(channel.queue_declare(name, passive=False).message_count for name in names))


def age_of(name: str) -> float | None:
    """Return the seconds since a sign was left; None when there is none."""
    seen = signs.last(name)
    return None if seen is None else max(0.0, (clock.now() - seen).total_seconds())


def backup_age() -> float | None:
    """Return the seconds since the last good backup; None where there is none."""
    last = folder.last_made()
    return None if last is None else last.age(clock.now()).total_seconds()


#: name -> (what it is, how it is asked; None: not known, then it isn't told)
STANDING: dict[str, tuple[str, Callable[[], float | None]]] = {
    "featherdays_farms": ("Farms in the database.", farms),
    "featherdays_jobs_waiting": ("Jobs waiting in the broker.", waiting),
    "featherdays_worker_age_seconds": ("Since a worker last did a job.", lambda: age_of("worker")),
    "featherdays_backup_age_seconds": ("Since the last good backup.", backup_age),
}


class Standing(Collector):
    """How things stand, asked when somebody asks."""

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """Yield one number each; one that can't be told is left out and counted, the others are told."""
        for name, (words, ask) in STANDING.items():
            try:
                value = ask()
            except Exception:  # whatever a driver raises
                UNREAD.labels(what=name).inc()
                continue
            if value is not None:
                yield GaugeMetricFamily(name, words, value=value)

    def describe(self) -> Iterable[GaugeMetricFamily]:
        """Return nothing: registering must not ask the database."""
        return []


REGISTRY.register(Standing())


@never_cache
@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """Answer Prometheus: 404 while switched off, 401 without the token where one is set."""
    if not settings.METRICS:
        raise Http404
    if not may_read(request.headers.get("Authorization", "")):
        return HttpResponse(status=401, headers={"WWW-Authenticate": "Bearer"})
    return HttpResponse(generate_latest(REGISTRY), content_type=CONTENT_TYPE_LATEST)


def may_read(authorization: str) -> bool:
    """Say whether a request with this header may read the numbers."""
    expected = settings.METRICS_TOKEN
    return not expected or hmac.compare_digest(authorization.encode(), f"Bearer {expected}".encode())


class _Quiet(WSGIRequestHandler):
    def log_message(self, format: str, *args: object) -> None:
        """Keep requests of the watcher out of stderr, where lines have another form."""


def serve(host: str, port: int) -> WSGIServer:
    """Answer Prometheus from a process without pages, in a thread of its own; return the server.

    OSError when the port is taken.
    """
    server = make_server(host, port, _answer, handler_class=_Quiet)
    threading.Thread(target=server.serve_forever, name="metrics", daemon=True).start()
    return server


def _answer(asked: dict[str, str], start: Callable[..., object]) -> list[bytes]:
    if asked.get("PATH_INFO") != "/metrics":
        start("404 Not Found", [])
        return []
    if not may_read(asked.get("HTTP_AUTHORIZATION", "")):
        start("401 Unauthorized", [("WWW-Authenticate", "Bearer")])
        return []
    try:
        body = generate_latest(REGISTRY)
    finally:
        close_old_connections()
    start("200 OK", [("Content-Type", CONTENT_TYPE_LATEST)])
    return [body]
