"""Farms planted once a run and copied for each fault, on SQLite and on PostgreSQL; and the table at the end."""

from __future__ import annotations

import fcntl
import json
import os
import shutil
import signal
import subprocess
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.faults.clients import Load, phones_of
from tests.faults.house import House
from tests.faults.servers import copied_cluster, new_cluster, redis_server

#: Ada and four helpers with a personal link each, and ticks that were shown to them. Prints what phones need to know.
PLANT = """
import json
from datetime import datetime, timedelta, UTC
from farm.models import Login
from farm.models.history import Face
from farm.services import batches, farms, housings, members, personal_links, shown
from farm.services.actor import Actor
now = datetime.now(UTC)
login = Login.objects.create_user("ada@example.org", "correct horse battery")
farm, ada = farms.start(login=login, keeper="Ada", name="Hollow Farm", time_zone="UTC", now=now, face=Face.COMMAND)
by = Actor(farm_id=farm.pk, face=Face.COMMAND, now=now, today=now.date(), member=ada, login=login)
place = housings.add(by, name="Brooder 1", kind="brooder", area_m2=4.0, heated=True)
batches.start(by, new=batches.NewBatch(name="Browns", birds=40, housing_id=place.pk,
    programme="chicken_layer_brown", hatch_day=now.date() - timedelta(days=14)))
phones = []
for name in ("Ben", "Cara", "Dan", "Eva"):
    member = members.add(by, name=name, role="helper")
    secret = personal_links.make(by, member_id=member.pk, label="phone")
    things = []
    for n in range(400):
        key = (f"fault:{member.pk}/{n}", now.date(), "morning")
        title = f"{name} {n}"
        things.append({"source": key[0], "due": key[1].isoformat(), "round": key[2], "title": title, "minutes": 1,
            "proof": shown.proof(member, key, title, 1)})
    link = member.personal_links.get()
    phones.append({"secret": secret, "who": f"link-{link.pk}", "member": member.pk, "things": things})
print("PLANTED" + json.dumps({"phones": phones, "farm": farm.pk}))
"""


@dataclass(frozen=True)
class Planted:
    """Folders made once: `data` with keys and, on SQLite, the database; `cluster` of PostgreSQL; what phones know."""

    data: Path
    known: dict[str, Any]
    cluster: Path | None = None


def once(folder: Path, make: Callable[[Path], None]) -> Path:
    """Make a folder once for all test processes of a run, and return it."""
    with Path(f"{folder}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        done = folder / "made"
        if not done.exists():
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir()
            make(folder)
            done.touch()
    return folder


@pytest.fixture(scope="session")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where what is made once lies: with several test processes, beside their folders."""
    base = tmp_path_factory.getbasetemp()
    return base.parent if "PYTEST_XDIST_WORKER" in os.environ else base


def prepare(data: Path, **variables: str) -> House:
    """Make a data folder with an empty database and the pages' files."""
    found = House(data, **variables)
    found.manage("migrate", "--verbosity=0")
    found.manage("collectstatic", "--no-input", "--verbosity=0")
    return found


@pytest.fixture(scope="session")
def migrated(shelf: Path) -> Path:
    """A data folder with an empty SQLite database."""
    return once(shelf / "migrated", lambda folder: prepare(folder / "data") and None) / "data"


@pytest.fixture(scope="session")
def on_sqlite(shelf: Path, migrated: Path) -> Planted:
    def make(folder: Path) -> None:
        shutil.copytree(migrated, folder / "data")
        plant(House(folder / "data"))

    return planted(once(shelf / "on-sqlite", make))


@pytest.fixture(scope="session")
def on_postgres(shelf: Path) -> Planted:
    def make(folder: Path) -> None:
        model = new_cluster(Path(f"/tmp/featherdays-model-{os.getpid()}"))
        try:
            model.start()
            house = prepare(folder / "data", DATABASE_URL=model.url)
            plant(house)
            model.stop(signal.SIGINT)
            subprocess.run(["cp", "-a", str(model.folder), str(folder / "cluster")], check=True)
        finally:
            if model.process is not None and model.process.poll() is None:
                model.stop(signal.SIGQUIT)
            shutil.rmtree(model.folder, ignore_errors=True)

    return planted(once(shelf / "on-postgres", make))


def plant(house: House) -> None:
    known = house.shell(PLANT).partition("PLANTED")[2]
    shutil.rmtree(house.data / "broker", ignore_errors=True)
    house.data.with_name("known.json").write_text(known)


def planted(folder: Path) -> Planted:
    cluster = folder / "cluster"
    known = json.loads((folder / "known.json").read_text())
    return Planted(folder / "data", known, cluster if cluster.exists() else None)


class Village:
    """Makes houses for one test and tears all of them down after it."""

    def __init__(self, request: pytest.FixtureRequest, folder: Path) -> None:
        self.request, self.folder, self.stack = request, folder, ExitStack()
        self.known: dict[str, Any] = {}

    def house(self, database: str, *, data: Path | None = None, redis: bool = False, **options: Any) -> House:
        """Return a house with its farm. database: "SQLite" or "PostgreSQL". Its servers: `postgres`, `redis`."""
        found: Planted = self.request.getfixturevalue(
            f"on_{'sqlite' if database == 'SQLite' else 'postgres'}"
        )
        self.known = found.known
        variables = {}
        if found.cluster is not None:
            self.postgres = self.stack.enter_context(copied_cluster(found.cluster))
            variables["DATABASE_URL"] = self.postgres.url
        if redis:
            self.redis = self.stack.enter_context(redis_server(self.folder))
            variables["REDIS_URL"] = self.redis.url
        data = data or self.folder / "data"
        shutil.copytree(found.data, data, dirs_exist_ok=True)
        house = House(data, **variables, **options)
        house.shelf = self.folder
        self.stack.callback(lambda: print(house.said()[-6000:]))  # shown where a test failed
        self.stack.callback(house.close)
        return house

    def phones(self, house: House, many: int = 4) -> Any:
        return phones_of(self.known, house.ports, many)


@pytest.fixture
def village(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Village]:
    found = Village(request, tmp_path)
    try:
        yield found
    finally:
        found.stack.close()


@pytest.fixture
def nothing_lost(record_property: Callable[[str, object], None]) -> Callable[..., None]:
    """Judge a test's writes, write them into the table, and fail when one is lost or doubled."""

    def judge(house: House, load: Load, fault: str, database: str, seconds: float) -> None:
        told = house.judge(load)
        row = [fault, database, told.acknowledged, told.lost, told.doubled, round(seconds, 1)]
        record_property("fault", row)
        assert (told.lost, told.doubled) == (0, 0), row
        assert told.acknowledged > 0

    return judge
