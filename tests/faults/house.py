"""One machine of a test's own: its data folder, its processes as `start` runs them, and what must hold at the end."""

from __future__ import annotations

import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import psycopg
from celery import Celery
from django.test import override_settings

from farm.management.commands import start
from farm.services import offline
from farm.settings.broker import broker
from tests.faults.clients import Load
from tests.faults.servers import end, end_with_parent, free_port, until

ROOT = Path(__file__).resolve().parents[2]
#: Judges the farm and prints what ticks left behind.
LOOK = """
import json
from django.core.management import call_command
from farm.models import ChoreMark, HistoryEntry, SentKey
call_command("check_farm")
print("LOOK" + json.dumps({
    "sent": [[row.key, row.answer["status"]] for row in SentKey.objects.all()],
    "marks": list(ChoreMark.objects.values_list("client_key", flat=True)),
    "history": list(HistoryEntry.objects.filter(verb="tick").values_list("summary", flat=True)),
}))
"""


@dataclass(frozen=True)
class Told:
    """What became of the acknowledged writes of a test."""

    acknowledged: int
    lost: int
    doubled: int


class House:
    """The processes of one machine. variables: further settings. settings: the module they read."""

    def __init__(
        self, data: Path, *, webs: int = 1, settings: str = "farm.settings", **variables: str
    ) -> None:
        kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
        own = {"FEATHERDAYS_DATA": str(data), "DJANGO_SETTINGS_MODULE": settings, "PYTHONPATH": str(ROOT)}
        self.data, self.env = data, kept | own | variables
        self.ports = [free_port() for _ in range(webs)]
        self.processes: list[subprocess.Popen[bytes]] = []
        # Where logs are written: not where a disk may be full.
        self.shelf = data.parent
        self.logs: dict[str, Path] = {}

    def start(self, name: str, number: int = 0) -> subprocess.Popen[bytes]:
        """Start "web", "worker" or "beat" with the command line that a keeper's machine uses."""
        port = self.ports[number] if name == "web" else self.ports[0]
        with override_settings(PORT=port, BIND="127.0.0.1", THREADS=6, PROXY=""):
            command = start.processes()[name]
        env = self.env | {"FEATHERDAYS_PORT": str(port)}
        return self.run(command, f"{name}-{number}", env)

    def run(
        self, command: list[str], name: str, env: dict[str, str] | None = None
    ) -> subprocess.Popen[bytes]:
        self.logs[name] = self.shelf / f"{self.data.name}-{name}.log"
        with self.logs[name].open("ab") as said:
            process = subprocess.Popen(
                command, cwd=ROOT, env=env or self.env, stdout=said, stderr=said, preexec_fn=end_with_parent
            )
        self.processes.append(process)
        return process

    def open(self) -> House:
        """Start every web process and wait until they answer."""
        for number in range(len(self.ports)):
            self.start("web", number)
        self.wait_open()
        return self

    def wait_open(self, seconds: float = 60) -> None:
        deadline = time.monotonic() + seconds
        for port in self.ports:
            while True:
                with socket.socket() as link:
                    if link.connect_ex(("127.0.0.1", port)) == 0:
                        break
                assert time.monotonic() < deadline, self.said()
                time.sleep(0.05)

    def kill(self, process: subprocess.Popen[bytes]) -> None:
        """Kill a process as nothing can prepare for."""
        os.kill(process.pid, signal.SIGKILL)
        assert process.wait(10) == -signal.SIGKILL

    def close(self) -> None:
        for process in self.processes:
            end(process)

    def said(self, *names: str) -> str:
        """Return what processes wrote into their logs; all when none is named."""
        paths = [path for name, path in self.logs.items() if not names or name.split("-")[0] in names]
        return "\n".join(path.read_text(errors="replace") for path in paths)

    def manage(self, *arguments: str) -> str:
        """Run a management command and return what it printed."""
        command = [sys.executable, "manage.py", *arguments]
        done = subprocess.run(
            command, cwd=ROOT, env=self.env, capture_output=True, text=True, timeout=300, check=False
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def shell(self, code: str) -> str:
        return self.manage("shell", "--no-imports", "-c", code)

    def sweep(self, *names: str, **ids: int) -> None:
        """Send jobs as beat does when their time has come, or as a page does with ids."""
        found = broker(self.env.get("REDIS_URL", ""), self.data)
        app = Celery("beat", broker=found["url"], set_as_current=False)
        app.conf.update(broker_transport_options=found["options"], task_default_queue="featherdays")
        with app.connection_for_write() as link:
            for name in names:
                app.send_task(name, kwargs=ids, connection=link)

    def wait_for_worker(self) -> None:
        """Wait until a worker has done a job that is sent now."""
        self.sql("INSERT INTO django_session VALUES ('over', '', '2020-01-01 00:00:00')")
        self.sweep("clear_expired")
        until(lambda: self.sql("SELECT * FROM django_session") == [])

    def sql(self, statement: str) -> list[tuple[Any, ...]]:
        """Run one statement on the database and return its rows."""
        url = self.env.get("DATABASE_URL")
        with closing(psycopg.connect(url) if url else self.sqlite()) as link:
            cursor = link.execute(statement)
            rows = cursor.fetchall() if cursor.description else []
            link.commit()
            return rows

    def sqlite(self) -> sqlite3.Connection:
        return sqlite3.connect(self.data / "featherdays.sqlite3", timeout=20)

    def judge(self, load: Load) -> Told:
        """Return what became of all that was acknowledged; the farm itself must be sound."""
        found = json.loads(self.shell(LOOK).partition("LOOK")[2])
        sent, marks = dict(found["sent"]), Counter(found["marks"])
        history = Counter(line.rpartition(":")[0] for line in found["history"])
        assert len(sent) == len(found["sent"])
        lost = doubled = 0
        for key, (member, status) in load.acknowledged().items():
            kept = offline.kept_key(_Member(pk=member), key)
            lost += not (sent.get(kept) == status and marks[kept] and history[key])
        for times in (marks, history):
            doubled += sum(count - 1 for count in times.values())
        return Told(len(load.acknowledged()), lost, doubled)


class _Member(SimpleNamespace):
    """As much of a member as a key's name depends on."""

    pk: Any
