"""The servers that are asked for a calendar, each a process of its own, and the farm whose calendar it is."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

NGINX = "/usr/sbin/nginx"
THREADS = 8  # as script/server has


def published(batches: int = 3) -> tuple[str, bytes]:
    """Make a farm with a link to all of it in the database in use; return the link's secret and the calendar."""
    from calendars import building, editions, services
    from farm.models import Farm, Login, Member
    from farm.models.history import Face
    from farm.services import batches as batch_services
    from farm.services import housings
    from farm.services.actor import Actor, local_day
    from farm.web import clock

    now = clock.now()
    farm = Farm.objects.create(name="Measured Farm", time_zone="Europe/Berlin")
    login = Login.objects.create_user("measured@example.org", "not used to sign in")
    member = Member.objects.create(farm=farm, name="Ada", role="keeper", login=login)
    today = local_day(farm, now)
    by = Actor(farm_id=farm.pk, face=Face.COMMAND, now=now, today=today, member=member, login=login)
    for n in range(batches):
        place = housings.add(by, name=f"Brooder {n}", kind="brooder", area_m2=20.0, heated=True)
        batch_services.start(
            by,
            new=batch_services.NewBatch(
                name=f"Batch {n}", birds=40, programme="chicken_layer_brown", housing_id=place.pk,
                hatch_day=today - timedelta(days=7 * n),
            ),
        )  # fmt: skip
    link, secret = services.make_link(by, member_id=member.pk, label="phone", scope="farm")
    link.refresh_from_db()
    return secret, bytes(building.build(editions.of(link), now).octets)


@contextmanager
def real() -> Iterator[int]:
    """Run the real pages on the database in use; yield the port."""
    with _waitress("bench.sites.pages:application", {"FEATHERDAYS_LOG": "ERROR"}) as port:
        yield port


@contextmanager
def pages(variables: Mapping[str, str]) -> Iterator[int]:
    """Run the real pages with these environment variables over those of this process; yield the port."""
    with _waitress("farm.wsgi:application", variables) as port:
        yield port


@contextmanager
def constant(file: Path) -> Iterator[int]:
    """Run Django with nothing but a view that returns a file's bytes; yield the port."""
    with _waitress("bench.sites.constant:application", {"BENCH_CONSTANT": str(file)}) as port:
        yield port


@contextmanager
def nginx(file: Path) -> Iterator[int | None]:
    """Run nginx over a compressed file beside it; yield the port, or None where it is not installed."""
    if not os.access(NGINX, os.X_OK):
        yield None
        return
    port, folder = _free_port(), tempfile.mkdtemp(prefix="featherdays-nginx-")
    os.chmod(folder, 0o755)
    shutil.copy(file, Path(folder) / "constant.ics.gz")
    (Path(folder) / "constant.ics").write_bytes(b"")
    (Path(folder) / "nginx.conf").write_text(
        f"daemon off; pid {folder}/pid; error_log {folder}/error.log; worker_processes 1; user root;"
        f"events {{}} http {{ access_log off; gzip_static always; keepalive_requests 1000000;"
        f" client_body_temp_path {folder}/b; proxy_temp_path {folder}/p; fastcgi_temp_path {folder}/f;"
        f" uwsgi_temp_path {folder}/u; scgi_temp_path {folder}/s;"
        f" server {{ listen 127.0.0.1:{port}; root {folder}; }} }}"
    )
    try:
        with _process([NGINX, "-c", f"{folder}/nginx.conf"], port, {}):
            yield port
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def _waitress(application: str, variables: Mapping[str, str]) -> Iterator[int]:
    port = _free_port()
    command = [
        sys.executable,
        "-m",
        "waitress",
        f"--listen=127.0.0.1:{port}",
        f"--threads={THREADS}",
        application,
    ]
    with _process(command, port, variables):
        yield port


@contextmanager
def _process(command: list[str], port: int, variables: Mapping[str, str]) -> Iterator[None]:
    root = Path(__file__).resolve().parents[1]
    process = subprocess.Popen(command, cwd=root, env={**os.environ, **variables})
    try:
        _wait_for(port, process)
        yield
    finally:
        process.terminate()
        process.wait(timeout=30)


def _wait_for(port: int, process: subprocess.Popen[bytes]) -> None:
    for _ in range(600):
        if process.poll() is not None:
            raise RuntimeError(f"a server ended at once, with {process.returncode}")
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
            return
        except OSError:
            time.sleep(0.1)
    raise RuntimeError("a server did not begin to listen")


def _free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])
