"""`manage.py start`: everything on one machine from one command, which is what `script/server` calls.

`--only` is one of its processes, for those who run them apart (see "Running it for many" in DEVELOPERS.md).
"""

from __future__ import annotations

import io
import os
import sys
import urllib.request
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, call_command
from django.urls import reverse

from farm.management import ground
from farm.management.supervisor import Supervisor
from farm.models import Farm, Login

#: What a process may take beyond FEATHERDAYS_STOP_SECONDS before it is killed. Project default (judgement)
SPARE_SECONDS = 1.0


class Command(BaseCommand):
    """Prepares the data folder, then runs the pages, a worker and beat until Ctrl-C; or becomes one of them."""

    help = "Run the pages, the worker and the scheduler on this machine; Ctrl-C stops all."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take --empty or --only."""
        parser.add_argument("--empty", action="store_true", help="do not load the demo farm on the first run")
        parser.add_argument(
            "--only", choices=list(processes()), help="become this one process; prepare nothing before"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Run until stopped; exit code 1 when a process would not stay up."""
        data = Path(settings.DATA)
        os.umask(0o077)  # whatever is made from here on is its owner's alone
        if options["only"]:
            ground.among(data)
            command = processes()[options["only"]]
            os.execve(command[0], command, variables(data))
        with ground.alone(data):
            ground.port_is_free(settings.BIND, settings.PORT)
            self.prepare(data, demo=not options["empty"])
            supervisor = Supervisor(
                processes(), variables(data), self.say, grace=settings.STOP_SECONDS + SPARE_SECONDS
            )
            code = supervisor.run(tick=once(answers, lambda: self.welcome(data)))
        self.say("Stopped. Everything is kept in " + str(data))
        if code:
            sys.exit(code)

    def prepare(self, data: Path, *, demo: bool) -> None:
        """Bring database, checks, static files and the demo farm up to date."""
        self.say("Preparing the database …")
        call_command("migrate", interactive=False, verbosity=0)
        call_command("check", databases=["default"], stdout=io.StringIO())
        if ground.static_files_are_stale():
            self.say("Collecting the pages' files …")
            call_command("collectstatic", interactive=False, verbosity=0)
        # Whoever removed their only farm still has a login, and is not given a demo for it.
        if demo and not Farm.objects.exists() and not Login.objects.exists():
            self.say("Planting the demo farm …")
            report = io.StringIO()
            call_command("demo", stdout=report)
            keep(data / "first-login.txt", report.getvalue())

    def welcome(self, data: Path) -> None:
        """Say where it is, who may come in, and how it is stopped."""
        note = data / "first-login.txt"
        self.say(f"\nFeatherdays is ready: {settings.ADDRESS}/\n")
        if note.exists():
            self.say(note.read_text(encoding="utf-8").rstrip())
            self.say(f"(kept in {note}; delete it once you have your own password)")
        elif not Login.objects.exists():
            self.say(f"Make your login and your farm: {settings.ADDRESS}{reverse('start-farm')}")
        self.say("Ctrl-C stops it.")

    def say(self, line: str) -> None:
        """Write one line at once, also into a pipe."""
        self.stdout.write(line)
        self.stdout.flush()


def variables(data: Path) -> dict[str, str]:
    """Return the environment of the processes."""
    return os.environ | {"FEATHERDAYS_DATA": str(data), "DJANGO_SETTINGS_MODULE": "farm.settings"}


def processes() -> dict[str, list[str]]:
    """Return the command line of each process; one worker and one beat for the machine."""
    python = [sys.executable, "-m"]
    celery = [*python, "celery", "--quiet", "-A", "tasks.app"]
    quiet = ["--without-gossip", "--without-mingle", "--without-heartbeat"]
    return {
        "web": [*python, "farm.management.serve"],
        "worker": [*celery, "worker", "--pool=threads", *quiet, "--loglevel=WARNING"],
        "beat": [*celery, "beat", "--loglevel=WARNING", "--pidfile="],
    }


def answers(port: int | None = None) -> bool:
    """Tell whether the pages answer, on the port of the settings when none is named."""
    host = {"0.0.0.0": "127.0.0.1", "::": "[::1]"}.get(settings.BIND, settings.BIND)
    address = f"http://{host}:{port or settings.PORT}/healthz"
    request = urllib.request.Request(address, headers={"Host": "localhost"})
    try:
        with urllib.request.urlopen(request, timeout=1) as reply:
            return bool(reply.status == 200)
    except OSError:
        return False


def once(ready: Callable[[], bool], act: Callable[[], None]) -> Callable[[], None]:
    """Return a function that calls `act` the first time `ready` says yes, and nothing after that."""
    waiting = [act]

    def tick() -> None:
        if waiting and ready():
            waiting.pop()()

    return tick


def keep(path: Path, text: str) -> None:
    """Write `text` into a file only its owner can read."""
    with os.fdopen(
        os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8"
    ) as file:
        file.write(text)
