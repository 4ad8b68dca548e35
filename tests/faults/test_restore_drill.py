"""The drill: back up while people write, restore elsewhere, and look whether everything they were told is there.

On SQLite and on PostgreSQL, each with databases of its own. The way there starts at an older version, whose backup has
to come up too.
"""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
import pytest

from farm.services.backups import manifest, verify
from tests.faults.servers import lacking

ROOT = Path(__file__).resolve().parents[2]
SERVER = os.environ.get("FEATHERDAYS_TEST_POSTGRES") or "postgres://postgres@127.0.0.1:5432/postgres"
WRITERS = 2
OLD = (("farm", "0010"), ("calendars", "0005"))
OLD_FARM = """
INSERT INTO farm_farm (name, time_zone, units, first_weekday, morning_at, midday_at, evening_at, move_weekdays, is_demo,
    version, created_at)
VALUES ('Old Farm', 'UTC', 'metric', 0, '07:00', '12:30', '18:30', '[5]', {no}, 7, '2026-01-01 00:00:00+00')
"""
PLANT = """
from datetime import datetime, timedelta, UTC
from farm.models import Channel
from farm.models.history import Face
from farm.services import batches, farms, housings
from farm.services.actor import system
from farm.services.channels import sealing
now = datetime.now(UTC)
farm, ada = farms.start(login=None, keeper="Ada", name="Hollow Farm", time_zone="UTC", now=now, face=Face.COMMAND)
by = system(farm, face=Face.COMMAND, now=now)
place = housings.add(by, name="Barn", kind="coop", area_m2=900.0, heated=True)
batches.start(by, new=batches.NewBatch(name="Browns", birds=5000, housing_id=place.pk,
    programme="chicken_layer_brown", hatch_day=now.date() - timedelta(days=14)))
Channel.objects.create(farm=farm, member=ada, kind="email", label="x", address=sealing.seal("ada@example.org"))
"""
#: Writes without end; prints a number and the time once it is sure that the write is kept. On SQLite what is written
#: stays in the log beside the file: whoever copies the file alone would lose it.
WRITE = """
from datetime import datetime, UTC
from django.db import connection
from farm.models import Batch, Farm
from farm.models.history import Face
from farm.services import counts, observations
from farm.services.actor import system
if connection.vendor == "sqlite":
    connection.cursor().execute("PRAGMA wal_autocheckpoint=0")
farm = Farm.objects.get(name="Hollow Farm")
batch = Batch.objects.get(farm=farm)
while True:
    by = system(farm, face=Face.COMMAND, now=datetime.now(UTC))
    counts.add(by, batch_id=batch.pk, kind="died", birds=1, day=by.today)
    told = observations.add(by, kind="note", batch_id=batch.pk, note="seen").pk
    print(told, datetime.now(UTC).isoformat(), flush=True)
"""
LOOK = """
import json
from farm.models import Batch, Change, Channel, CountEntry, Farm, Observation
from farm.services.channels import sealing
old = Farm.objects.filter(name="Old Farm").values_list("version", "closing_on")
seen = list(Observation.objects.order_by("pk").values_list("pk", flat=True))
died = list(CountEntry.objects.filter(kind="died").values_list("pk", flat=True))
written = Change.objects.filter(model="observation").values("row").distinct().count()
opened = [sealing.open_sealed(row.address) for row in Channel.objects.all()]
print("SEEN" + json.dumps({"old": list(old), "seen": seen, "died": len(died), "written": written, "opened": opened}))
"""


class House:
    """A data folder with a database, and commands run on it in processes of their own."""

    def __init__(self, data: Path, url: str = "") -> None:
        data.mkdir(mode=0o700, parents=True, exist_ok=True)
        kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
        self.data, self.url = data, url
        self.env = kept | {"FEATHERDAYS_DATA": str(data), "DJANGO_SETTINGS_MODULE": "farm.settings"}
        if url:
            self.env["DATABASE_URL"] = url

    def run(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "manage.py", *arguments]
        return subprocess.run(command, cwd=ROOT, env=self.env, capture_output=True, text=True, timeout=240)

    def manage(self, *arguments: str) -> str:
        done = self.run(*arguments)
        assert done.returncode == 0, done.stderr
        return done.stdout

    def refused(self, *arguments: str) -> str:
        done = self.run(*arguments)
        assert done.returncode == 1, done.stdout
        return done.stderr

    def shell(self, code: str) -> str:
        return self.manage("shell", "--no-imports", "-c", code)

    def sql(self, statement: str) -> None:
        if self.url:
            with psycopg.connect(self.url, autocommit=True) as link:
                link.execute(statement.format(no="false"))
            return
        with closing(sqlite3.connect(self.data / "featherdays.sqlite3")) as link:
            link.execute(statement.format(no="0"))
            link.commit()

    def rows(self, table: str = "farm_observation", within: str = "") -> int:
        """Return how many rows a table has, in another schema or database file when that is named."""
        if self.url:
            with psycopg.connect(self.url) as link:
                row = link.execute(f'SELECT count(*) FROM "{within or "public"}".{table}'.encode()).fetchone()
        else:
            with closing(sqlite3.connect(self.data / (within or "featherdays.sqlite3"))) as file:
                row = file.execute(f"SELECT count(*) FROM {table}").fetchone()
        assert row is not None
        return int(row[0])

    def look(self) -> dict[str, Any]:
        return json.loads(self.shell(LOOK).split("SEEN")[1])

    @contextmanager
    def writers(self, folder: Path, many: int = WRITERS) -> Iterator[list[Path]]:
        """Have people write until the end of the block; yields the files of what they were told is kept."""
        told = [folder / f"told-{n}" for n in range(many)]
        processes = []
        try:
            for path in told:
                with path.open("w") as out:
                    command = [sys.executable, "manage.py", "shell", "--no-imports", "-c", WRITE]
                    processes.append(subprocess.Popen(command, cwd=ROOT, env=self.env, stdout=out))
            yield told
            assert [each.poll() for each in processes] == [None] * many, "a writer gave up"
        finally:
            for each in processes:
                each.kill()
                each.wait(10)


def acknowledged(told: list[Path], until: datetime) -> set[int]:
    """Return what people had been told is kept by some instant."""
    lines = [
        line.split()
        for path in told
        for line in path.read_text().splitlines(keepends=True)
        if line[-1] == "\n"
    ]
    return {int(pk) for pk, at in lines if datetime.fromisoformat(at) < until}


@contextmanager
def databases(*names: str) -> Iterator[list[str]]:
    """Make databases on the server of the tests, give their addresses, and drop them whatever happens."""
    try:
        server = psycopg.connect(SERVER, autocommit=True, connect_timeout=5)
    except psycopg.OperationalError as error:
        lacking(f"no PostgreSQL for the tests: {error}")
    with server:
        made = [f"test_featherdays_drill_{os.getpid()}_{name}" for name in names]
        try:
            for name in made:
                server.execute(f'CREATE DATABASE "{name}"')
            parts = urlsplit(SERVER)
            yield [parts._replace(path=f"/{name}").geturl() for name in made]
        finally:
            for name in made:
                server.execute(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')


@pytest.fixture(params=["sqlite", "postgresql"])
def houses(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[House, House]]:
    """Two houses: one that is lived in and one that is new."""
    if request.param == "sqlite":
        yield House(tmp_path / "lived"), House(tmp_path / "new")
        return
    if shutil.which("pg_dump") is None:
        lacking("pg_dump is not installed")
    with databases("lived", "new") as (lived, new):
        yield House(tmp_path / "lived", lived), House(tmp_path / "new", new)


def test_what_people_were_told_before_a_backup_under_load_is_there_wherever_it_is_restored(
    houses: tuple[House, House], tmp_path: Path
):
    lived, new = houses
    old = backed_up_at_an_older_version(lived, tmp_path / "old")
    now, before, during = backed_up_while_people_write(lived, tmp_path)

    restored_in_a_new_house_it_holds_all_of_one_moment(lived, new, now, before, during)
    farms_are_not_overwritten_unasked_and_put_aside_when_asked(new, now)
    what_is_older_comes_up_with_todays_columns(new, old)
    nothing_is_restored_beside_what_runs(lived, now)
    what_is_damaged_or_newer_changes_nothing(lived, now, tmp_path)


def backed_up_at_an_older_version(lived: House, folder: Path) -> Path:
    for app, name in OLD:
        lived.manage("migrate", app, name, "--verbosity=0")
    lived.sql(OLD_FARM)
    lived.manage("backup", "--to", str(folder))
    lived.manage("migrate", "--verbosity=0")
    return next(folder.glob("*.zip"))


def backed_up_while_people_write(lived: House, folder: Path) -> tuple[Path, set[int], set[int]]:
    """Return the backup, and what people had been told is kept: before it began, and when it was done."""
    lived.shell(PLANT)
    (lived.data / "media" / "a").mkdir(parents=True)
    (lived.data / "media" / "a" / "hen.jpg").write_bytes(b"picture")
    with lived.writers(folder) as told:
        deadline = time.monotonic() + 90
        while min(len(path.read_text().splitlines()) for path in told) < 10:
            assert time.monotonic() < deadline, "nobody writes"
            time.sleep(0.05)
        lived.manage("backup", "--to", str(folder / "now"))
        done = datetime.now(UTC)
    backup = next((folder / "now").glob("*.zip"))
    # The command says when it began; what was told a moment earlier has to be in it.
    begun = datetime.fromisoformat(verify(backup).made_at)
    before, during = acknowledged(told, begun), acknowledged(told, done)
    print(
        f"{len(before)} writes before, {len(during - before)} during {(done - begun).total_seconds():.1f} s of backup"
    )
    return backup, before, during


def restored_in_a_new_house_it_holds_all_of_one_moment(
    lived: House, new: House, now: Path, before: set[int], during: set[int]
) -> None:
    said = new.manage("restore", str(now))
    found, rows = new.look(), lived.rows()

    assert "2 farms checked: all sound." in said
    assert before - set(found["seen"]) == set()
    # People went on writing meanwhile, and what they wrote after the moment of the copy is not in it.
    assert during > before
    assert rows > len(found["seen"])
    # One moment: every row with its line in the history, and of each pair of writes the first before the second.
    assert found["written"] == len(found["seen"])
    assert 0 <= found["died"] - len(found["seen"]) <= WRITERS
    # The keys came along: what was sealed can be opened. So did the pictures.
    assert found["opened"] == ["ada@example.org"]
    assert (new.data / "media" / "a" / "hen.jpg").read_bytes() == b"picture"


def farms_are_not_overwritten_unasked_and_put_aside_when_asked(new: House, now: Path) -> None:
    (new.data / "media" / "later.jpg").write_bytes(b"later")
    there = new.rows()
    assert "With --force the backup takes their place" in new.refused("restore", str(now))
    assert (new.rows(), (new.data / "media" / "later.jpg").exists()) == (there, True)

    said = new.manage("restore", str(now), "--force")

    assert new.rows() == there
    assert [path.name for path in new.data.glob("media.before-*/later.jpg")] == ["later.jpg"]
    aside = said.split("in its schema " if new.url else "that was there is ")[1].split()[0].rstrip(".")
    assert new.rows(within=Path(aside).name) == there


def what_is_older_comes_up_with_todays_columns(new: House, old: Path) -> None:
    said = new.manage("restore", str(old), "--force")

    assert "1 farms checked: all sound." in said
    assert new.look()["old"] == [[7, None]]


def nothing_is_restored_beside_what_runs(lived: House, now: Path) -> None:
    with (lived.data / "running").open("a+") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        assert "already runs" in lived.refused("restore", str(now), "--force")
    if lived.url:
        with psycopg.connect(lived.url) as link:
            link.execute("SELECT 1")
            assert "1 other programs are connected" in lived.refused("restore", str(now), "--force")


def what_is_damaged_or_newer_changes_nothing(lived: House, now: Path, folder: Path) -> None:
    before = state(lived)
    damaged = folder / "damaged.zip"
    octets = bytearray(now.read_bytes())
    octets[len(octets) // 2] ^= 0xFF
    damaged.write_bytes(octets)
    newer = rewritten(now, folder / "newer.zip", migrations=[["farm", "9999_tomorrow"]])

    for path, why in ((damaged, "damaged"), (newer, "newer Featherdays")):
        assert why in lived.refused("restore", str(path), "--force")
    assert state(lived) == before


def state(house: House) -> tuple[list[str], int]:
    """Return what would differ if anything had been replaced."""
    return sorted(
        path.name for path in house.data.iterdir() if path.name not in ("running", "broker")
    ), house.rows()


def rewritten(source: Path, target: Path, **changes: Any) -> Path:
    """Write a backup again with other words in its manifest, sealed as if it had been made so."""
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            octets = old.read(name)
            if name == manifest.NAME:
                octets = json.dumps(json.loads(octets) | changes).encode()
            new.writestr(name, octets)
        new.comment = manifest.SEAL
    manifest.seal(target)
    assert hashlib.sha256(target.read_bytes()).digest() != hashlib.sha256(source.read_bytes()).digest()
    return target
