"""The job that works a farm's rota out."""

from __future__ import annotations

import pytest
import time_machine

from farm.services import rota
from tasks import jobs
from tests.conftest import NOON, World
from tests.farm.judging import everything
from tests.farm.rota_world import people, rows


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(rota, "STEPS", 2_000)
    monkeypatch.setattr(jobs, "ROTA_POLISH_SECONDS", 0.2)
    with time_machine.travel(NOON, tick=False):
        yield


def test_it_gives_the_work_out_and_run_twice_changes_nothing(world: World):
    people(world)
    world.add_batch("Browns", housing="Brooder 1")
    rota.start(world.by, weeks=1)
    jobs.refresh_rota(farm_id=world.farm.pk)
    assert rows(world)
    before = everything()
    jobs.refresh_rota(farm_id=world.farm.pk)
    assert everything() == before


def test_a_farm_without_a_rota_is_left_alone(world: World):
    world.add_batch("Browns", housing="Brooder 1")
    before = everything()
    jobs.refresh_rota(farm_id=world.farm.pk)
    assert everything() == before


def test_it_lets_the_exact_solver_look_for_as_long_as_it_says(world: World, monkeypatch: pytest.MonkeyPatch):
    asked = []
    monkeypatch.setattr(rota, "refresh", lambda **more: asked.append(more))
    jobs.refresh_rota(farm_id=world.farm.pk)
    assert asked == [{"farm_id": world.farm.pk, "now": NOON, "polish_seconds": 0.2}]
