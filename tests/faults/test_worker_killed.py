"""A worker killed in the middle of a job, on both brokers: nothing is half done, and the next sweep has it done."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager

import psycopg
import pytest

from tests.faults.conftest import Village
from tests.faults.house import House
from tests.faults.servers import until

#: Ada begins a rota, and a move planned for today waits to be written down as having happened.
BEGIN = """
from datetime import datetime, UTC
from farm.models import Farm, Member, Stay
from farm.models.history import Face
from farm.services import rota
from farm.services.actor import Actor
farm, ada, now = Farm.objects.get(), Member.objects.get(name="Ada"), datetime.now(UTC)
Stay.objects.update(actual=False)
rota.start(Actor(farm_id=farm.pk, face=Face.COMMAND, now=now, today=now.date(), member=ada, login=ada.login))
"""
JOBS = {"roll_over", "refresh_rota"}


@contextmanager
def locked(house: House) -> Iterator[None]:
    """Hold what every write on the farm waits for."""
    url = house.env.get("DATABASE_URL")
    with closing(psycopg.connect(url) if url else house.sqlite()) as other:
        other.execute("SELECT id FROM farm_farm FOR UPDATE" if url else "BEGIN IMMEDIATE")
        yield
        other.rollback()


def waiting(village: Village, house: House) -> set[str]:
    """Return which of the jobs wait for a worker."""
    if "REDIS_URL" in house.env:
        found = b" ".join(village.redis.client().lrange("featherdays", 0, -1)).decode()
    else:
        found = ""
        for path in (house.data / "broker" / "messages").glob("*.msg"):
            try:
                found += path.read_text()
            except FileNotFoundError:
                continue  # a worker was quicker
    return {name for name in JOBS if f'"task": "{name}"' in found}


def forget_jobs(village: Village, house: House) -> None:
    if "REDIS_URL" in house.env:
        village.redis.client().flushall()
    else:
        shutil.rmtree(house.data / "broker")


def done(house: House) -> tuple[int, int]:
    """Return how many moves happened and how many chores the rota has given out."""
    ((moves,),) = house.sql("SELECT COUNT(*) FROM farm_stay WHERE actual")
    ((given,),) = house.sql("SELECT COUNT(*) FROM farm_assignment")
    return moves, given


@pytest.mark.parametrize("database", ["SQLite", "PostgreSQL"])
def test_nothing_is_half_done_and_the_next_sweep_has_it_done(village: Village, database: str) -> None:
    house = village.house(database, redis=database == "PostgreSQL")
    house.shell(BEGIN)
    forget_jobs(village, house)
    with locked(house):
        for name in JOBS:
            house.sweep(name, farm_id=village.known["farm"])
        assert waiting(village, house) == JOBS
        worker = house.start("worker")
        until(lambda: waiting(village, house) == set())
        time.sleep(0.5)
        house.kill(worker)
    assert done(house) == (0, 0)

    house.start("worker")
    house.sweep("roll_over_all")
    until(lambda: done(house)[0] == 1 and done(house)[1] > 0)
    assert (
        house.sql("SELECT COUNT(*) FROM farm_assignment GROUP BY source, due, round HAVING COUNT(*) > 1")
        == []
    )
    assert "1 farms checked: all sound." in house.manage("check_farm")
