"""The commands that take a farm out of a server and bring it into another."""

from __future__ import annotations

import stat

import pytest
from django.core.management import CommandError, call_command

from farm.models import Batch, Farm, Login, Member
from tests.conftest import World
from tests.farm import archives_world as a


def test_a_farm_goes_into_a_file_only_its_owner_may_read_and_comes_back(world: World, tmp_path, capsys):
    world.add_batch("Browns")
    Login.objects.create_user("cleo@example.org", "pw")

    call_command("export_farm", str(world.farm.pk), "--to", str(tmp_path / "farm.zip"))
    call_command("import_farm", str(tmp_path / "farm.zip"), "--login", "CLEO@example.org")

    assert [path.name for path in tmp_path.iterdir()] == ["farm.zip"]
    assert stat.S_IMODE((tmp_path / "farm.zip").stat().st_mode) == 0o600
    new = Farm.objects.exclude(pk=world.farm.pk).get()
    assert Batch.objects.get(farm=new).name == "Browns"
    assert Member.objects.get(farm=new).login.email == "cleo@example.org"
    said = capsys.readouterr().out.splitlines()
    assert said[0].startswith(f"Hollow Farm is in {tmp_path / 'farm.zip'} (")
    assert said[1] == f"Hollow Farm is here as farm {new.pk}, kept by cleo@example.org."


def test_a_file_that_is_there_is_never_written_over(world: World, tmp_path):
    (tmp_path / "farm.zip").write_bytes(b"dear")

    with pytest.raises(CommandError, match=r"is there already\. Choose another name, or remove it\."):
        call_command("export_farm", str(world.farm.pk), "--to", str(tmp_path / "farm.zip"))

    assert (tmp_path / "farm.zip").read_bytes() == b"dear"
    assert [path.name for path in tmp_path.iterdir()] == ["farm.zip"]


def test_a_farm_that_is_not_there_is_said_so(db: None, tmp_path):
    with pytest.raises(CommandError, match=r"There is no farm 7\."):
        call_command("export_farm", "7", "--to", str(tmp_path / "farm.zip"))

    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_said_so(world: World, tmp_path):
    with pytest.raises(CommandError, match=r"cannot be written: No such file or directory\."):
        call_command("export_farm", str(world.farm.pk), "--to", str(tmp_path / "no" / "farm.zip"))


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (
            ["--login", "nobody@example.org"],
            r"Nobody signs in as nobody@example\.org\. Make the login first\.",
        ),
        (["--login", "ada@example.org", "--as-member", "Zoe"], r"No keeper of that farm is called so\."),
    ],
)
def test_an_import_for_nobody_is_refused(world: World, tmp_path, given: list[str], says: str):
    (tmp_path / "farm.zip").write_bytes(a.taken(world))
    before = a.counted()

    with pytest.raises(CommandError, match=says):
        call_command("import_farm", str(tmp_path / "farm.zip"), *given)

    assert a.counted() == before


def test_an_import_of_something_else_or_nothing_is_refused(world: World, tmp_path):
    (tmp_path / "letter.zip").write_bytes(b"Dear")

    with pytest.raises(CommandError, match=r"This is no archive of a farm"):
        call_command("import_farm", str(tmp_path / "letter.zip"), "--login", "ada@example.org")
    with pytest.raises(CommandError, match=r"cannot be read: No such file or directory\."):
        call_command("import_farm", str(tmp_path / "none.zip"), "--login", "ada@example.org")

    assert Farm.objects.count() == 1
