"""Zips that are damaged, or made to do harm: refused whole, with a reason, and nothing is saved or written anywhere."""

from __future__ import annotations

import io
import stat
import struct
import zipfile

import pytest

from farm.errors import BadInput
from farm.services.archives import opening, reading
from tests.conftest import World
from tests.farm import archives_world as a


@pytest.fixture
def octets(world: World) -> bytes:
    """The archive of a farm with a batch and a picture-less history."""
    world.add_batch("Browns", housing="Brooder 1")
    return a.taken(world)


def refusal(octets: bytes, at: str = "file") -> str:
    """Return why an archive is refused, after seeing that nothing was saved."""
    a.Login.objects.filter(email=a.EMAIL).first() or a.Login.objects.create_user(a.EMAIL, "pw")
    before = a.counted()
    with pytest.raises(BadInput) as refused:
        a.brought(octets)
    assert a.counted() == before
    assert list(refused.value.fields) == [at]
    return str(refused.value)


NO_ARCHIVE = "This is no archive of a farm, or it was cut off on the way. Choose the .zip as it was saved."


@pytest.mark.parametrize("junk", [b"", b"hello", b"PK\x03\x04", b"\x1f\x8b" + bytes(80), b"%PDF-1.7\n" * 20])
def test_what_is_no_zip_is_refused(octets: bytes, junk: bytes):
    assert refusal(junk) == NO_ARCHIVE


@pytest.mark.parametrize("left", [0.2, 0.5, 0.9, 0.999])
def test_a_file_that_was_cut_off_is_refused(octets: bytes, left: float):
    assert refusal(octets[: int(len(octets) * left)]) == NO_ARCHIVE


def test_a_file_with_a_flipped_octet_is_refused(octets: bytes):
    with zipfile.ZipFile(io.BytesIO(octets)) as found:
        start = found.getinfo("rows/change.jsonl").header_offset
    hurt = bytearray(octets)
    hurt[start + 400] ^= 0xFF

    assert refusal(bytes(hurt)) in (
        "rows/change.jsonl in it cannot be unpacked: the file is damaged.",
        "rows/change.jsonl in it was changed or damaged. Use the file as it was saved.",
    )


def test_another_zip_is_no_archive_of_a_farm(db: None):
    assert (
        refusal(a.packed({"letter.docx": b"Dear"}))
        == "“letter.docx” does not belong into an archive of a farm."
    )


@pytest.mark.parametrize("name", ["farm.json", "SHA256SUMS"])
def test_an_archive_without_what_says_and_proves_it_is_refused(octets: bytes, name: str):
    found = a.entries(octets)
    del found[name]

    assert refusal(a.packed(found)) == f"This .zip is no archive of a farm: {name} is missing."


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/cron.d/birds",
        "/etc/passwd",
        "rows/../../birds.jsonl",
        "rows\\batch.jsonl",
        "C:\\birds.txt",
        "rows/batch.jsonl/",
        "files/markphoto/1.php",
        "files/markphoto/007.jpg",
        "tables/farm.zip",
        "rows/ﬁ.jsonl",
        "rows/batch.jsonl\0.txt",
    ],
)
def test_a_name_that_has_no_place_in_an_archive_is_refused(octets: bytes, name: str, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    out = io.BytesIO(octets)
    with zipfile.ZipFile(out, "a") as made:
        entry = zipfile.ZipInfo("x")
        entry.filename = name
        made.writestr(entry, b"x")

    assert refusal(out.getvalue()).endswith("does not belong into an archive of a farm.")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_an_entry_that_is_there_twice_is_refused(octets: bytes):
    out = io.BytesIO(octets)
    with zipfile.ZipFile(out, "a") as made:
        made.writestr("README.txt", b"another")

    assert refusal(out.getvalue()) == "README.txt is in it twice."


def test_a_link_in_it_is_refused(octets: bytes):
    found = a.entries(octets)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as made:
        for name, said in found.items():
            entry = zipfile.ZipInfo(name)
            kind = stat.S_IFLNK if name == "README.txt" else stat.S_IFREG
            entry.external_attr = (kind | 0o600) << 16
            made.writestr(entry, said)

    assert refusal(out.getvalue()) == "README.txt in it is no ordinary file."


def _marked(octets: bytes, at: int, bits: int) -> bytes:
    """Return a zip whose entries have other bits in their central records."""
    hurt, place = bytearray(octets), 0
    while (place := hurt.find(b"PK\x01\x02", place)) >= 0:
        (old,) = struct.unpack_from("<H", hurt, place + at)
        struct.pack_into("<H", hurt, place + at, old | bits)
        place += 4
    return bytes(hurt)


def test_a_locked_zip_is_refused(octets: bytes):
    assert refusal(_marked(octets, 8, 1)) == "It is locked with a password. Save it again without one."


def test_an_unusual_packing_is_refused(octets: bytes):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_LZMA) as made:
        for name, said in a.entries(octets).items():
            made.writestr(name, said)

    assert refusal(out.getvalue()).endswith("in it is packed in a way we don't read.")


def test_a_bomb_is_refused_before_it_is_unpacked(octets: bytes, monkeypatch):
    found = a.entries(octets)
    found["rows/batch.jsonl"] = bytes(40 * opening.MB)
    bomb = a.summed(found)
    assert len(bomb) < opening.MB
    monkeypatch.setattr(zipfile.ZipFile, "open", _never)

    assert refusal(bomb) == "rows/batch.jsonl in it would blow up when unpacked."


def _never(*_args: object, **_kwargs: object) -> None:
    raise AssertionError("something was unpacked")


def test_an_entry_that_is_larger_than_it_says_is_refused(octets: bytes):
    found = a.entries(octets)
    real = a.summed(found)
    hurt, size = bytearray(real), len(found["README.txt"])
    for mark, at in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        place = 0
        while (place := hurt.find(mark, place)) >= 0:
            if struct.unpack_from("<I", hurt, place + at) == (size,):
                struct.pack_into("<I", hurt, place + at, 10)
            place += 4

    assert refusal(bytes(hurt)) in (
        "README.txt in it cannot be unpacked: the file is damaged.",
        "README.txt in it was changed or damaged. Use the file as it was saved.",
    )


@pytest.mark.parametrize(
    ("limit", "most", "says"),
    [
        ("MOST_ENTRIES", 5, "It has more than 5 entries."),
        ("MOST_BYTES", 5000, "Unpacked it would be larger than 0 MB."),
        ("MOST_ROW_BYTES", 500, "Its records are larger than 0 MB."),
    ],
)
def test_more_than_the_limits_of_a_zip_is_refused(
    octets: bytes, monkeypatch, limit: str, most: int, says: str
):
    monkeypatch.setattr(opening, limit, most)

    assert refusal(octets) == says


def test_an_entry_above_the_limit_of_its_folder_is_refused(octets: bytes, monkeypatch):
    monkeypatch.setitem(opening.MOST_ENTRY_BYTES, "tables", 10)

    assert refusal(octets) == "tables/batches.csv in it is too large."


def test_too_many_records_are_refused(octets: bytes, monkeypatch):
    monkeypatch.setattr(reading, "MOST_ROWS", 9)

    assert refusal(octets) == "It has more than 9 records."


def test_a_line_without_an_end_is_refused(octets: bytes, monkeypatch):
    monkeypatch.setattr(reading, "MOST_LINE", 100)

    assert refusal(octets) == "rows/farm.jsonl:1 in it is too long."


def test_a_changed_entry_is_refused_by_its_sum(octets: bytes):
    found = a.entries(octets)
    found["rows/batch.jsonl"] = found["rows/batch.jsonl"].replace(b"Browns", b"Greens")

    text = "rows/batch.jsonl in it was changed or damaged. Use the file as it was saved."
    assert refusal(a.packed(found)) == text


def test_an_entry_without_a_sum_and_a_sum_without_an_entry_are_refused(octets: bytes):
    found = a.entries(octets)
    line = next(one for one in found["SHA256SUMS"].splitlines(True) if b"stays.csv" in one)
    less = {**found, "SHA256SUMS": found["SHA256SUMS"].replace(line, b"")}
    gone = {name: said for name, said in found.items() if name != "tables/stays.csv"}

    text = "Its list of contents does not fit: tables/stays.csv is missing or one too many."
    assert (refusal(a.packed(less)), refusal(a.packed(gone))) == (text, text)


@pytest.mark.parametrize("sums", [b"", b"nonsense\n", b"\xff\xfe", b"0" * 64 + b" farm.json\n"])
def test_a_list_of_sums_that_says_nothing_is_refused(octets: bytes, sums: bytes):
    said = refusal(a.packed({**a.entries(octets), "SHA256SUMS": sums}))

    assert said in (
        "Its list of contents, SHA256SUMS, cannot be read.",
        "Its list of contents does not fit: README.txt is missing or one too many.",
    )
