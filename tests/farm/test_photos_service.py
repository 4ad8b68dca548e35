"""Pictures of a mark: drawn anew, small, upright, and with nothing of the phone in them."""

from __future__ import annotations

import random
import struct
import zlib
from io import BytesIO
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from farm.errors import BadInput
from farm.models import MarkPhoto
from farm.services import chores, photos
from tests.conftest import TODAY, World

PLACE = b"48.1372 N 11.5756 E"


def picture(
    width: int = 640, height: int = 480, kind: str = "JPEG", mode: str = "RGB", **saved: Any
) -> bytes:
    out = BytesIO()
    Image.new(mode, (width, height), "red").save(out, kind, **saved)
    return out.getvalue()


def noise(width: int, height: int) -> bytes:
    """A picture that hardly packs."""
    out = BytesIO()
    pixels = random.Random(7).randbytes(width * height * 3)
    Image.frombytes("RGB", (width, height), pixels).save(out, "JPEG", quality=95)
    return out.getvalue()


def read(jpeg: bytes) -> Image.Image:
    found = Image.open(BytesIO(jpeg))
    found.load()
    return found


def with_exif(orientation: int = 1) -> bytes:
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010E] = PLACE.decode()
    return picture(800, 400, exif=exif.tobytes(), comment=PLACE)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_picture_becomes_a_jpeg(kind):
    made = read(photos.small_jpeg(picture(kind=kind)))
    assert (made.format, made.mode, made.size) == ("JPEG", "RGB", (640, 480))


@pytest.mark.parametrize(
    "size, small", [((3200, 1600), (1600, 800)), ((1000, 4000), (400, 1600)), ((5, 3), (5, 3))]
)
def test_the_longest_side_is_1600_pixels_and_nothing_is_made_larger(size, small):
    assert read(photos.small_jpeg(picture(*size))).size == small


def test_what_hardly_packs_still_fits():
    sent = noise(1600, 1200)
    assert len(sent) > 2 * photos.LARGEST_JPEG
    made = photos.small_jpeg(sent)
    assert len(made) <= photos.LARGEST_JPEG
    assert read(made).format == "JPEG"


def test_place_comment_and_everything_else_the_phone_wrote_are_gone():
    sent = with_exif()
    assert PLACE in sent
    made = photos.small_jpeg(sent)
    assert PLACE not in made
    assert not read(made).getexif()
    assert b"Exif" not in made


def test_a_picture_taken_sideways_stands_upright():
    assert read(photos.small_jpeg(with_exif(orientation=6))).size == (400, 800)


def test_what_is_transparent_becomes_white():
    out = BytesIO()
    Image.new("RGBA", (20, 20), (0, 0, 0, 0)).save(out, "PNG")
    assert min(read(photos.small_jpeg(out.getvalue())).getpixel((10, 10))) > 250


@pytest.mark.parametrize(
    "mode, kind",
    [("L", "JPEG"), ("CMYK", "JPEG"), ("P", "PNG"), ("1", "PNG"), ("LA", "PNG"), ("I;16", "PNG")],
)
def test_every_sort_of_colour_is_read(mode, kind):
    out = BytesIO()
    Image.new(mode, (40, 30)).save(out, kind)
    assert read(photos.small_jpeg(out.getvalue())).mode == "RGB"


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few hundred bytes that says it is as large as this."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 999))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("width, height", [(5001, 5000), (60_000, 60_000), (2**31 - 1, 2**31 - 1)])
def test_a_small_file_that_unpacks_into_a_giant_is_refused_before_it_is_unpacked(width, height):
    with pytest.raises(BadInput) as refused:
        photos.small_jpeg(bomb(width, height))
    assert list(refused.value.fields) == ["photo"]


@pytest.mark.parametrize(
    "sent",
    [
        b"",
        b"GIF89a" + b"\0" * 40,
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"\xff\xd8\xff",
        b"%PDF-1.7",
        b"\0" * 999,
    ],
    ids=["nothing", "gif", "svg", "cut", "pdf", "zeros"],
)
def test_what_is_no_picture_is_refused_in_plain_words(sent):
    with pytest.raises(BadInput, match=r"This file is no picture that can be read. Use a JPEG, PNG or WebP."):
        photos.small_jpeg(sent)


def test_a_picture_cut_off_in_the_middle_is_refused():
    whole = noise(300, 300)
    with pytest.raises(BadInput, match="no picture that can be read"):
        photos.small_jpeg(whole[: len(whole) // 2])


def test_more_than_eight_megabytes_are_not_even_looked_at(monkeypatch):
    monkeypatch.setattr(photos.Image, "open", lambda *_a, **_k: pytest.fail("looked at"))
    with pytest.raises(BadInput, match="at most 8 MB"):
        photos.small_jpeg(b"x" * (photos.MOST_BYTES + 1))


@given(st.binary(max_size=400), st.integers(0, 600))
def test_damaged_pictures_are_read_or_refused_and_nothing_else(junk, at):
    sent = picture(64, 64)
    at = min(at, len(sent))
    try:
        made = photos.small_jpeg(sent[:at] + junk + sent[at + len(junk) :])
    except BadInput:
        return
    assert read(made).format == "JPEG"


def test_the_first_picture_of_a_mark_stays(world: World):
    mark = chores.mark(world.by, source="room:1/look", due=TODAY, round="morning", title="Look")
    assert photos.keep(world.by, mark, b"first")
    assert not photos.keep(world.by, mark, b"second")
    assert bytes(MarkPhoto.objects.get().jpeg) == b"first"


def test_a_picture_goes_with_its_mark(world: World):
    mark = chores.mark(world.by, source="room:1/look", due=TODAY, round="morning", title="Look")
    photos.keep(world.by, mark, b"first")
    chores.unmark(world.by, source="room:1/look", due=TODAY, round="morning")
    assert not MarkPhoto.objects.exists()
