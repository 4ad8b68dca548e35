"""The nightly jobs of many farms, done by one worker process and by two: jobs a second.

`python -m bench.growth_jobs FARMS` sends the jobs of the night for so many farms; `rate` starts the workers.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from typing import Any

from bench.growth_databases import REDIS, ROOT

QUEUE, JOBS_A_FARM = "featherdays", 4
WAIT_SECONDS = 1800


def rate(workers: int, farms: int, variables: Mapping[str, str]) -> float:
    """Return how many jobs a second so many worker processes do, from the first one sent to the last one done."""
    import redis

    broker = redis.from_url(REDIS)
    broker.flushdb()
    with ExitStack() as running:
        for _number in range(workers):
            running.enter_context(_worker(variables))
        _until(lambda: _waiting(broker) >= workers, 120)
        start = time.perf_counter()
        subprocess.run(
            [sys.executable, "-m", "bench.growth_jobs", str(farms)], cwd=ROOT, env=dict(variables), check=True
        )
        _until(lambda: not broker.llen(QUEUE) and not broker.hlen("unacked"), WAIT_SECONDS)
        took = time.perf_counter() - start
    broker.flushdb()
    return JOBS_A_FARM * farms / took


def send(farms: int) -> None:
    """Send what `roll_over_all` sends, for the first so many farms."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farm.settings")
    import django

    django.setup()
    from celery import current_app

    from farm.models import Farm

    for farm_id in Farm.objects.order_by("pk").values_list("pk", flat=True)[:farms]:
        for name in ("roll_over", "refresh_alerts", "refresh_rota", "refresh_calendars"):
            current_app.tasks[name].delay(farm_id=farm_id)


def _waiting(broker: Any) -> int:
    """Return how many workers wait for a job."""
    return sum(client["cmd"] == "brpop" for client in broker.client_list())


def _until(done: Any, seconds: float) -> None:
    until = time.perf_counter() + seconds
    while not done():
        if time.perf_counter() > until:
            raise RuntimeError("the workers did not come to an end")
        time.sleep(0.02)


@contextmanager
def _worker(variables: Mapping[str, str]) -> Iterator[None]:
    """One process that does one job at a time: two of them share nothing but the servers."""
    command = [sys.executable, "-m", "celery", "--quiet", "-A", "tasks.app", "worker", "--pool=solo"]
    options = ["--without-gossip", "--without-mingle", "--without-heartbeat", "--loglevel=ERROR"]
    process = subprocess.Popen([*command, *options], cwd=ROOT, env=dict(variables))
    try:
        yield
    finally:
        process.terminate()
        process.wait(timeout=60)


if __name__ == "__main__":
    send(int(sys.argv[1]))
