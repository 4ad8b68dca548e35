"""Everything that takes bytes from outside is listed here with its bound, and what is too large is refused plainly."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
import time_machine
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client, override_settings
from django.urls import reverse
from PIL import Image

from farm.management import serve
from farm.models import ChoreMark, Housing, MarkPhoto, Weather
from farm.services import photos
from farm.web import bodies
from farm.web.imports.decoding import MOST_BYTES
from tests.conftest import NOON, TODAY, World

ROOT = Path(__file__).resolve().parents[2]
TAKES = re.compile(r"request\.(?:FILES|body|read\(|upload_handlers|stream)")
#: Module, what it takes, and the test that shows its bound.
BOUNDED = {
    "api/core/keys.py": "the body of a request, to compare: farm.web.bodies",
    "api/core/schema.py": "a request of a program: farm.web.bodies, and Django's bound of 2.5 MB held in memory",
    "calendars/dav/door.py": "a task app's request: test_dav_reading",
    "farm/services/channels/fetching.py": "what it sends itself; it takes nothing",
    "farm/web/archives/views.py": "a farm's archive: test_archives_pages",
    "farm/web/climate/views.py": "a table of days: below",
    "farm/web/csp_reports.py": "a browser's report: test_csp_reports",
    "farm/web/imports/views.py": "a table of housing or batches: below",
    "farm/web/my/reading.py": "ticks kept on a phone, and a picture: test_my_queue",
    "farm/web/reminders/browser.py": "a browser's subscription: below",
    "farm/web/today/marks.py": "a picture: below",
}


def test_everything_that_takes_bytes_is_listed_with_its_bound():
    found = {
        path.relative_to(ROOT).as_posix()
        for top in ("farm", "calendars", "tasks", "api")
        for path in (ROOT / top).rglob("*.py")
        if TAKES.search(path.read_text(encoding="utf-8"))
    }
    assert found == set(BOUNDED)


@pytest.fixture
def ada(world: World) -> Client:
    client = Client()
    with time_machine.travel(NOON, tick=False):
        client.force_login(world.by.login)
        yield client


def large(name: str, size: int) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, b"x" * size, "application/octet-stream")


@pytest.mark.parametrize("name", ["login", "password-reset", "start-farm", "bring-farm", "housing-new"])
def test_a_stranger_cannot_send_more_than_ten_megabytes_anywhere(db, name):
    sent = {"file": large("a.zip", 10 * bodies.MB)}
    reply = Client().post(reverse(name), sent)
    assert reply.status_code == 413
    assert "This is too large: at most 10 MB." in reply.content.decode()


def test_a_sender_who_does_not_say_how_much_is_refused(db):
    assert Client().post("/login/", {}, CONTENT_LENGTH="-1").status_code == 413


@override_settings(ARCHIVE_MB=11)
def test_only_who_is_signed_in_may_send_a_farm(world, ada):
    sent = {"file": large("a.zip", 10 * bodies.MB)}
    assert ada.post(reverse("bring-farm"), sent).status_code == 200
    sent = {"file": large("a.zip", 13 * bodies.MB)}
    assert ada.post(reverse("bring-farm"), sent).status_code == 413


def test_the_server_itself_receives_no_more_than_the_largest_page_takes():
    assert serve.options()["max_request_body_size"] == (settings.ARCHIVE_MB + 2) * bodies.MB


@pytest.mark.parametrize("name, more", [("import", {"what": "housing"}), ("climate-record", {"version": 0})])
@pytest.mark.parametrize("part", ["file", "text"])
def test_a_table_of_more_than_a_megabyte_is_refused_and_nothing_saved(world, ada, name, more, part):
    rows = "x" * (MOST_BYTES + 1)
    sent = more | {part: SimpleUploadedFile("a.csv", rows.encode()) if part == "file" else rows}
    before = Housing.objects.count()
    reply = ada.post(reverse(name), sent)
    assert "This is more than 1 MB." in reply.content.decode()
    assert not Weather.objects.exists()
    assert Housing.objects.count() == before


def test_a_subscription_longer_than_any_browser_writes_is_refused(world, ada):
    reply = ada.post(reverse("my-browser"), b"x" * 4001, content_type="application/json")
    assert reply.status_code == 422
    assert "can't be used" in reply.json()["why"]


def picture(**more) -> bytes:
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "Ada's kitchen"  # ImageDescription
    Image.new("RGB", (40, 30), "red").save(out, "JPEG", exif=exif, comment=b"at home", **more)
    return out.getvalue()


def tick(ada: Client, photo: bytes):
    sent = {"source": "room:1/look", "due": TODAY, "round": "morning", "title": "Look", "state": "done"}
    return ada.post(reverse("chore-mark"), sent | {"photo": SimpleUploadedFile("p.jpg", photo, "image/jpeg")})


def test_a_picture_with_a_tick_is_drawn_anew_without_what_the_phone_wrote(world, ada):
    tick(ada, picture())
    kept = bytes(MarkPhoto.objects.get().jpeg)
    assert b"kitchen" not in kept
    assert b"at home" not in kept
    with Image.open(io.BytesIO(kept)) as opened:
        assert (opened.format, opened.size) == ("JPEG", (40, 30))


def test_what_is_no_picture_is_not_kept(world, ada):
    tick(ada, b"<svg onload=alert(1)>")
    assert not MarkPhoto.objects.exists()


def test_a_picture_is_sent_out_as_one_and_nothing_else(world, ada):
    mark = ChoreMark.objects.create(
        farm=world.farm, source="room:1/look", due=TODAY, round="morning", title="Look", at=NOON, state="done"
    )
    row = MarkPhoto.objects.create(farm=world.farm, mark=mark, jpeg=photos.small_jpeg(picture()), at=NOON)
    reply = ada.get(reverse("my-photo", args=[row.pk]))
    assert (reply["Content-Type"], reply["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
