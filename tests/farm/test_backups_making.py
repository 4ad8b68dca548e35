"""A backup of the database that is there, pictures and keys with it."""

from __future__ import annotations

import fcntl
import stat
import zipfile
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from farm.models import Farm
from farm.services import backups
from farm.services.backups import BackupTrouble
from tests.conftest import World, make_world

pytestmark = pytest.mark.django_db(transaction=True)

NOW = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)


@pytest.fixture
def world() -> World:
    return make_world()


def test_it_holds_every_row_and_says_so(world: World, tmp_path: Path):
    made = backups.make(tmp_path, now=NOW)
    about = backups.verify(made.path)

    assert about.vendor == connection.vendor
    assert (about.tables["farm_farm"], about.tables["farm_member"]) == (1, 1)
    assert set(about.tables) == set(connection.introspection.table_names())
    assert ("farm", "0001_initial") in about.migrations or about.migrations == []


def test_pictures_and_keys_come_along_and_nobody_else_may_read_it(world: World, tmp_path: Path, settings):
    settings.DATA, settings.MEDIA_ROOT = tmp_path / "data", tmp_path / "data" / "media"
    (tmp_path / "data" / "media" / "a").mkdir(parents=True)
    (tmp_path / "data" / "media" / "a" / "hen.jpg").write_bytes(b"picture")
    for name in ("secret_key", "push_key", "beat"):
        (tmp_path / "data" / name).write_text(name)

    made = backups.make(tmp_path / "to", now=NOW)

    assert made.path.name == "featherdays-20260501T120000Z.zip"
    assert stat.S_IMODE(made.path.stat().st_mode) == 0o600
    assert stat.S_IMODE(made.path.parent.stat().st_mode) == 0o700
    with zipfile.ZipFile(made.path) as archive:
        assert archive.read("media/a/hen.jpg") == b"picture"
        assert archive.read("secrets/push_key") == b"push_key"
        assert [name for name in archive.namelist() if "beat" in name] == []


def test_nothing_half_lies_about_and_what_a_killed_one_left_is_cleared(world: World, tmp_path: Path):
    (tmp_path / ".making-killed").mkdir()
    (tmp_path / ".making-killed" / "featherdays-20260501T110000Z.zip").touch()

    backups.make(tmp_path, now=NOW)

    assert sorted(one.name for one in tmp_path.iterdir()) == [".lock", "featherdays-20260501T120000Z.zip"]


def test_one_at_a_time(world: World, tmp_path: Path):
    with (tmp_path / ".lock").open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        with pytest.raises(BackupTrouble, match="Another backup"):
            backups.make(tmp_path, now=NOW)
    assert backups.found(tmp_path) == []


def test_none_takes_the_place_of_another(world: World, tmp_path: Path):
    first = backups.make(tmp_path, now=NOW).path.read_bytes()
    with pytest.raises(BackupTrouble, match="there already"):
        backups.make(tmp_path, now=NOW)
    assert [one.path.read_bytes() for one in backups.found(tmp_path)] == [first]


def test_a_folder_that_cannot_be_written_to_is_said_plainly(world: World, tmp_path: Path):
    (tmp_path / "file").touch()
    with pytest.raises(BackupTrouble, match="could not be written"):
        backups.make(tmp_path / "file" / "folder", now=NOW)


def test_the_command_makes_lists_and_checks(world: World, tmp_path: Path, settings):
    settings.BACKUPS = str(tmp_path)
    said = StringIO()
    call_command("backup", stdout=said)
    call_command("backup", "--list", stdout=said)
    call_command("backup", "--check", stdout=said)

    lines = said.getvalue().splitlines()
    assert lines[0].endswith("MB.")
    assert " written and checked, " in lines[0]
    assert lines[2].endswith("MB  0 hours old")
    assert " is whole: " in lines[3]
    assert Farm.objects.count() == 1


def test_the_command_asks_for_a_folder_where_backups_are_off(settings):
    settings.BACKUPS = ""
    with pytest.raises(CommandError, match="--to FOLDER"):
        call_command("backup")
