"""A backup is believed only after all of it was read: whatever is damaged, lacking or strange is refused."""

from __future__ import annotations

import hashlib
import json
import random
import sqlite3
import zipfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from farm.services import backups
from farm.services.backups import BackupTrouble, manifest
from farm.services.backups.manifest import FORMAT, Manifest

MADE_AT = "2026-05-01T10:00:00+00:00"


def database(folder: Path, rows: int = 3) -> bytes:
    """Return the bytes of a small database with so many rows in its one table."""
    path = folder / "small.sqlite3"
    path.unlink(missing_ok=True)
    with closing(sqlite3.connect(path)) as link:
        link.execute("CREATE TABLE bird (id INTEGER PRIMARY KEY, name TEXT)")
        link.executemany(
            "INSERT INTO bird (name) VALUES (?)", [(random.Random(7).randbytes(300).hex(),)] * rows
        )
        link.commit()
    return path.read_bytes()


def of(parts: dict[str, bytes], **changes: object) -> Manifest:
    sums = {name: hashlib.sha256(octets).hexdigest() for name, octets in parts.items()}
    about = Manifest("sqlite", MADE_AT, {"bird": 3}, [("farm", "0001_initial")], sums)
    return replace(about, **changes)  # type: ignore[arg-type]


def written(folder: Path, parts: dict[str, bytes], about: Manifest) -> Path:
    path = folder / "featherdays-20260501T100000Z.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, octets in parts.items():
            archive.writestr(name, octets)
        archive.writestr("manifest.json", about.octets())
        archive.comment = manifest.SEAL
    manifest.seal(path)
    return path


@pytest.fixture
def parts(tmp_path: Path) -> dict[str, bytes]:
    return {
        "database.sqlite3": database(tmp_path),
        "media/a/b.jpg": b"picture",
        "secrets/secret_key": b"not one",
    }


def refused(path: Path) -> str:
    with pytest.raises(BackupTrouble) as trouble:
        backups.verify(path)
    assert [one.name for one in path.parent.iterdir() if one.name.startswith(".")] == []
    return str(trouble.value)


def test_a_whole_one_says_what_it_holds(tmp_path: Path, parts: dict[str, bytes]):
    about = backups.verify(written(tmp_path, parts, of(parts)))

    assert (about.vendor, about.made_at, about.tables) == ("sqlite", MADE_AT, {"bird": 3})
    assert about.migrations == [("farm", "0001_initial")]


def test_one_changed_byte_is_noticed_wherever_it_is(tmp_path: Path, parts: dict[str, bytes]):
    octets = written(tmp_path, parts, of(parts)).read_bytes()
    path = tmp_path / "featherdays-20260501T100001Z.zip"
    for at in range(0, len(octets), len(octets) // 40):
        path.write_bytes(octets[:at] + bytes([octets[at] ^ 0xFF]) + octets[at + 1 :])
        assert "damaged" in refused(path)


def test_one_cut_short_is_noticed(tmp_path: Path, parts: dict[str, bytes]):
    path = written(tmp_path, parts, of(parts))
    for share in (0.1, 0.5, 0.99):
        octets = path.read_bytes()
        cut = tmp_path / "featherdays-20260501T100002Z.zip"
        cut.write_bytes(octets[: int(len(octets) * share)])
        assert "damaged or no backup" in refused(cut)


def test_a_part_other_than_was_written_is_noticed_though_its_own_check_holds(
    tmp_path: Path, parts: dict[str, bytes]
):
    path = written(tmp_path, parts | {"media/a/b.jpg": b"another"}, of(parts))
    assert "media/a/b.jpg is not what was written" in refused(path)


def test_a_part_damaged_before_it_was_sealed_is_noticed(tmp_path: Path, parts: dict[str, bytes]):
    path = written(tmp_path, parts, of(parts))
    octets = bytearray(path.read_bytes())
    octets[300] ^= 0xFF
    path.write_bytes(octets)
    manifest.seal(path)
    assert "damaged" in refused(path)


@pytest.mark.parametrize("name", ["database.sqlite3", "media/a/b.jpg"])
def test_a_lacking_part_is_noticed(tmp_path: Path, parts: dict[str, bytes], name: str):
    about = of(parts)
    del parts[name]
    assert "lacks parts" in refused(written(tmp_path, parts, about))


def test_rows_that_are_lacking_are_noticed(tmp_path: Path, parts: dict[str, bytes]):
    parts["database.sqlite3"] = database(tmp_path, rows=2)
    assert "not the rows" in refused(written(tmp_path, parts, of(parts)))


def test_a_database_damaged_before_it_was_taken_is_noticed(tmp_path: Path, parts: dict[str, bytes]):
    octets = bytearray(database(tmp_path, rows=40))
    octets[4096 * 2 : 4096 * 2 + 600] = b"\xff" * 600
    parts["database.sqlite3"] = bytes(octets)
    assert "database in it" in refused(written(tmp_path, parts, of(parts, tables={"bird": 40})))


@pytest.mark.parametrize("name", ["media/../../out", "/etc/out", "secrets/../../../out", "somewhere.txt"])
def test_nothing_is_put_outside_its_folder(tmp_path: Path, parts: dict[str, bytes], name: str):
    parts = parts | {name: b"hostile"}
    assert "is no backup" in refused(written(tmp_path, parts, of(parts)))
    assert not (tmp_path.parent / "out").exists()


def test_one_by_a_newer_program_says_so(tmp_path: Path, parts: dict[str, bytes]):
    assert "newer" in refused(written(tmp_path, parts, of(parts, format=FORMAT + 1)))


@pytest.mark.parametrize("octets", [b"", b"[]", b"{}", b"\xff", json.dumps({"format": 1}).encode()])
def test_a_manifest_that_is_none_is_refused(tmp_path: Path, octets: bytes):
    path = tmp_path / "featherdays-20260501T100000Z.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("manifest.json", octets)
        archive.comment = manifest.SEAL
    manifest.seal(path)
    assert "is no backup" in refused(path)


def test_what_is_no_archive_is_refused(tmp_path: Path):
    path = tmp_path / "notes.zip"
    path.write_text("eggs")
    assert "no backup of Featherdays" in refused(path)
