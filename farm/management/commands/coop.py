"""`manage.py coop`: the topology of many farms on one machine, without containers; `script/coop` calls it."""

from __future__ import annotations

import os
import shutil
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command
from django.db import connection

from farm.management import ground
from farm.management.commands.start import SPARE_SECONDS, answers, once, processes, variables
from farm.management.supervisor import Supervisor

#: How many processes of a kind one machine may be asked for: project default (judgement)
MOST = 32
PROXY = "proxy"
_NGINX = """\
daemon off;
pid {folder}/nginx.pid;
error_log stderr crit;  # what is less grave names addresses, and they hold secrets
worker_processes 1;
events {{ worker_connections 1024; }}
http {{
    access_log off;
    client_body_temp_path {folder}/body;
    proxy_temp_path {folder}/proxy;
    fastcgi_temp_path {folder}/fastcgi;
    uwsgi_temp_path {folder}/uwsgi;
    scgi_temp_path {folder}/scgi;
    upstream pages {{
{servers}
    }}
    server {{
        listen {bind}:{port};
        location = /metrics {{ return 404; }}  # each process is asked by itself
        location / {{
            proxy_pass http://pages;
            include {rules};
        }}
    }}
}}
"""


class Command(BaseCommand):
    """Runs several web processes behind nginx, several workers and beat, on PostgreSQL and Redis, until Ctrl-C."""

    help = "Run several web processes and workers on this machine, on PostgreSQL and Redis; Ctrl-C stops all."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take --web and --worker."""
        for kind, words in (("web", "web processes"), ("worker", "workers")):
            parser.add_argument(f"--{kind}", type=int, default=2, help=f"how many {words} (default 2)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run until stopped; exit code 1 when a process would not stay up."""
        webs, workers = options["web"], options["worker"]
        self.judge(webs, workers)
        data = Path(settings.DATA)
        os.umask(0o077)
        with ground.alone(data):
            nginx = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin:/usr/local/sbin")
            ports = [settings.PORT + 1 + number for number in range(webs)]
            for port in [*([settings.PORT] if nginx else []), *ports]:
                ground.port_is_free(settings.BIND, port)
            call_command("migrate", interactive=False, verbosity=0)
            if ground.static_files_are_stale():
                call_command("collectstatic", interactive=False, verbosity=0)
            commands = topology(ports, workers)
            if nginx:
                commands = {PROXY: proxy(nginx, data / "coop", ports)} | commands
            shared = {"FEATHERDAYS_ADDRESS": settings.ADDRESS} | (
                {"FEATHERDAYS_PROXY": "127.0.0.1"} if nginx else {}
            )
            grace = settings.STOP_SECONDS + SPARE_SECONDS
            supervisor = Supervisor(commands, variables(data) | shared, self.say, grace=grace, proxy=PROXY)
            code = supervisor.run(
                tick=once(lambda: all(map(answers, ports)), lambda: self.welcome(ports, bool(nginx)))
            )
        if code:
            sys.exit(code)

    def judge(self, webs: int, workers: int) -> None:
        """Raise CommandError for what can't work."""
        if connection.vendor != "postgresql":
            raise CommandError(
                "DATABASE_URL must name a PostgreSQL database: SQLite serves one machine's few processes."
            )
        if not settings.MANY_MACHINES:
            raise CommandError(
                "REDIS_URL must name a Redis server: the web processes share counts and jobs there."
            )
        if not (1 <= webs <= MOST and 1 <= workers <= MOST):
            raise CommandError(f"--web and --worker take a number from 1 to {MOST}.")

    def welcome(self, ports: list[int], proxied: bool) -> None:
        """Say where it is."""
        self.say(f"Featherdays is ready: {settings.ADDRESS}/")
        self.say("Its web processes: " + ", ".join(f"http://127.0.0.1:{port}" for port in ports))
        if not proxied:
            self.say(
                "nginx is not installed, so nobody shares requests out: ask the web processes themselves."
            )
        self.say("Ctrl-C stops it.")

    def say(self, line: str) -> None:
        """Write one line at once, also into a pipe."""
        self.stdout.write(line)
        self.stdout.flush()


def topology(ports: list[int], workers: int) -> dict[str, list[str]]:
    """Return the command line of each process: a web process a port, the workers, one beat.

    Each tells its numbers on a port of its own, where they are asked for.
    """
    kinds = processes()
    webs = {f"web {port}": _with(kinds["web"], FEATHERDAYS_PORT=port) for port in ports}
    hands = {
        f"worker {number + 1}": [
            *_with(kinds["worker"], FEATHERDAYS_METRICS_PORT=settings.METRICS_PORT + number),
            f"--hostname=worker{number + 1}@%h",
        ]
        for number in range(workers)
    }
    return webs | hands | {"beat": kinds["beat"]}


def _with(command: list[str], **own: int) -> list[str]:
    return ["/usr/bin/env", *(f"{name}={value}" for name, value in own.items()), *command]


def proxy(nginx: str, folder: Path, ports: list[int]) -> list[str]:
    """Write nginx's configuration and return its command line."""
    folder.mkdir(mode=0o700, exist_ok=True)
    servers = "\n".join(f"        server 127.0.0.1:{port};" for port in ports)
    rules = Path(settings.BASE) / "docker" / "proxy.conf"
    host = f"[{settings.BIND}]" if ":" in settings.BIND else settings.BIND
    text = _NGINX.format(folder=folder, servers=servers, bind=host, port=settings.PORT, rules=rules)
    (folder / "nginx.conf").write_text(text, encoding="utf-8")
    return [nginx, "-p", str(folder), "-e", "stderr", "-c", str(folder / "nginx.conf")]
