"""A worker killed in the middle of working a plan out: no half plan, and the work is taken up again or says so."""

from __future__ import annotations

import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from farm.planning import plan_check, score
from farm.planning import problem as planning
from farm.planning import solution as solutions
from farm.planning.solve import solve

ROOT = Path(__file__).resolve().parents[2]
WORKER = [
    "celery",
    "--quiet",
    "-A",
    "tasks.app",
    "worker",
    "--pool=threads",
    "--without-gossip",
    "--without-mingle",
]
#: Far more repairs than a worker does before it is killed.
PROPOSE = """
from datetime import datetime, UTC
from farm.services import demo, plans
planted = demo.plant(now=datetime.now(UTC))
plans.propose(planted.by, iterations=1_000_000)
"""
TAKE_UP = "from tasks import jobs; jobs.take_up_plans.delay()"


class Machine:
    """One machine on a data folder of its own, with the in-machine broker."""

    def __init__(self, data: Path) -> None:
        kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
        own = {"FEATHERDAYS_DATA": str(data), "DJANGO_SETTINGS_MODULE": "farm.settings"}
        self.data, self.env = data, kept | own
        self.workers: list[subprocess.Popen] = []

    def manage(self, *arguments: str) -> None:
        subprocess.run(
            [sys.executable, "manage.py", *arguments], cwd=ROOT, env=self.env, check=True, timeout=120
        )

    def shell(self, code: str) -> None:
        self.manage("shell", "--no-imports", "-c", code)

    def work(self) -> subprocess.Popen:
        worker = subprocess.Popen([sys.executable, "-m", *WORKER], cwd=ROOT, env=self.env)
        self.workers.append(worker)
        return worker

    def plan(self) -> dict[str, Any]:
        with closing(sqlite3.connect(self.data / "featherdays.sqlite3", timeout=20)) as link:
            link.row_factory = sqlite3.Row
            return dict(link.execute("SELECT * FROM farm_plan").fetchone())

    def set(self, assignments: str) -> None:
        with closing(sqlite3.connect(self.data / "featherdays.sqlite3", timeout=20)) as link:
            link.execute(f"UPDATE farm_plan SET {assignments}")
            link.commit()

    def until(self, holds: Callable[[dict[str, Any]], object], seconds: float = 90) -> dict[str, Any]:
        """Return the plan's row once it is so."""
        deadline = time.monotonic() + seconds
        while not holds(row := self.plan()):
            assert time.monotonic() < deadline, {
                name: row[name] for name in ("state", "iteration", "attempts", "error")
            }
            time.sleep(0.05)
        return row


@pytest.fixture(scope="module")
def prepared(migrated: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with the demo farm and one plan that waits for a worker, its job in the broker."""
    folder = tmp_path_factory.mktemp("prepared") / "data"
    shutil.copytree(migrated, folder)
    found = Machine(folder)
    found.shell(PROPOSE)
    # Planting sends many jobs of its own, which would only keep the worker from the plan: its job was sent last.
    *others, _plan = sorted((folder / "broker" / "messages").glob("*.msg"))
    for path in others:
        path.unlink()
    return folder


@pytest.fixture
def machine(prepared: Path, tmp_path: Path) -> Iterator[Machine]:
    shutil.copytree(prepared, tmp_path / "data")
    found = Machine(tmp_path / "data")
    yield found
    for worker in found.workers:
        if worker.poll() is None:
            worker.kill()
            worker.wait(10)


def killed_in_the_middle(machine: Machine) -> dict[str, Any]:
    """Return the plan's row after its worker was killed between two reports."""
    worker = machine.work()
    machine.until(lambda row: row["state"] == "solving" and row["iteration"] > 0 and row["solution"])
    os.kill(worker.pid, signal.SIGKILL)
    assert worker.wait(10) == -signal.SIGKILL
    return machine.plan()


def whole(row: dict[str, Any]) -> solutions.Solution:
    """Return the row's solution, having judged it as a plan of the row's problem with the row's bill."""
    problem = planning.from_json(json.loads(row["problem"]))
    found = solutions.from_json(json.loads(row["solution"]))
    assert [fault for fault in plan_check.faults(problem, found) if not fault.forced] == []
    assert json.loads(row["bill"])["total"] == found.cost == score.bill(problem, found.plans).total
    return found


def grow_cold(machine: Machine) -> None:
    """Make the dead worker's last sign of life a minute old."""
    machine.set("beat_at = datetime(beat_at, '-60 seconds')")


def test_what_a_killed_worker_leaves_is_a_whole_plan_that_nobody_takes_for_finished(machine: Machine):
    row = killed_in_the_middle(machine)

    assert (row["state"], row["claim"] == "", row["finished_at"]) == ("solving", False, None)
    whole(row)


def test_a_later_worker_takes_it_up_and_ends_with_the_plan_an_undisturbed_run_finds(machine: Machine):
    left = whole(killed_in_the_middle(machine))
    machine.set("iterations = 40")
    grow_cold(machine)
    machine.shell(TAKE_UP)
    machine.work()

    row = machine.until(lambda row: row["state"] not in ("waiting", "solving"))

    assert (row["state"], row["attempts"], row["claim"], row["error"]) == ("ready", 2, "", "")
    problem = planning.from_json(json.loads(row["problem"]))
    assert whole(row) == solve(problem, iterations=40)
    assert left.problem == problem.digest


def test_work_that_was_broken_off_too_often_ends_with_the_best_plan_and_says_so(machine: Machine):
    left = whole(killed_in_the_middle(machine))
    machine.set("attempts = 3")
    grow_cold(machine)
    machine.shell(TAKE_UP)
    machine.work()

    row = machine.until(lambda row: row["state"] not in ("waiting", "solving"))

    assert (row["state"], whole(row)) == ("ready", left)
    assert row["error"].startswith("The work on this plan was broken off 3 times.")


def test_a_worker_that_is_merely_slow_is_not_robbed_of_its_plan(machine: Machine):
    killed_in_the_middle(machine)
    machine.set(
        "beat_at = datetime(beat_at, '+600 seconds')"
    )  # as if it had just answered, however slow this machine
    row = machine.plan()
    machine.shell(TAKE_UP)
    worker = machine.work()
    machine.shell(f"from tasks import jobs; jobs.solve_plan.delay(plan_id={row['id']})")
    machine.until(lambda _row: not list((machine.data / "broker" / "messages").glob("*.msg")))
    time.sleep(1)

    assert machine.plan() == row
    worker.terminate()
