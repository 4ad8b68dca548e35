"""The pages that take a farm along and bring one: who may, what they say, and what comes of it."""

from __future__ import annotations

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import override_settings

from farm.models import Batch, Farm, HistoryEntry, Login, Member
from farm.services import counts, personal_links
from tests.conftest import TODAY, World
from tests.farm.archives_world import counted, taken


@pytest.fixture
def ada(world: World, client):
    client.force_login(world.keeper.login)
    return client


@pytest.fixture
def cleo(db: None, client):
    """Somebody with a login and no farm."""
    client.force_login(Login.objects.create_user("cleo@example.org", "pw"))
    return client


def send(client, octets: bytes, name: str = "farm.zip", **fields: str):
    return client.post("/bring/", {"file": SimpleUploadedFile(name, octets), **fields})


def test_the_page_says_what_goes_and_what_stays(world: World, ada):
    world.add_batch("Browns")

    page = ada.get("/settings/archive/").content.decode()

    assert "Take everything with you" in page
    assert "batches and housings, with every count, stay and observation" in page
    assert "What stays behind" in page
    assert "Secret addresses and passwords open this server." in page
    assert 'action="/settings/archive/farm.zip"' in page


def test_the_file_is_sent_as_one_to_keep(world: World, ada):
    world.add_batch("Browns")

    answer = ada.post("/settings/archive/farm.zip")

    octets = b"".join(answer.streaming_content)
    assert answer["Content-Type"] == "application/zip"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"].startswith('attachment; filename="featherdays-hollow-farm-20')
    assert int(answer["Content-Length"]) == len(octets)
    with zipfile.ZipFile(io.BytesIO(octets)) as found:
        assert found.testzip() is None
        assert b"Browns" in found.read("tables/batches.csv")


def test_a_link_alone_never_makes_the_file(ada):
    assert ada.get("/settings/archive/farm.zip").status_code == 405


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_a_keeper_takes_the_farm_along(world: World, client, role: str):
    client.force_login(world.add_member("Hal", role).login)

    assert client.get("/settings/archive/").status_code == 403
    assert client.post("/settings/archive/farm.zip").status_code == 403
    assert "Take everything with you" not in client.get("/settings/").content.decode()


def test_the_settings_lead_to_both_pages(ada):
    page = ada.get("/settings/").content.decode()

    assert 'href="/settings/archive/"' in page
    assert 'href="/bring/"' in page


def test_somebody_without_a_farm_finds_the_way_and_brings_one(world: World, cleo):
    world.add_batch("Browns")
    octets = taken(world)
    assert 'href="/bring/"' in cleo.get("/start/").content.decode()
    assert cleo.get("/bring/").status_code == 200

    answer = send(cleo, octets)

    assert (answer.status_code, answer["Location"]) == (302, "/people/members/")
    farm = Farm.objects.exclude(pk=world.farm.pk).get()
    assert Member.objects.get(farm=farm).login.email == "cleo@example.org"
    assert "Hollow Farm is here, with all its records." in cleo.get("/people/members/").content.decode()


def test_the_history_that_came_along_can_be_read_line_by_line(world: World, cleo):
    personal_links.make(world.by, member_id=world.keeper.pk, label="phone")
    batch = world.add_batch("Browns", housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=2, day=TODAY)
    send(cleo, taken(world))

    farm = Farm.objects.exclude(pk=world.farm.pk).get()
    entries = list(HistoryEntry.objects.filter(farm=farm))
    read = {entry.summary: cleo.get(f"/history/{entry.pk}/").status_code for entry in entries}

    assert len(entries) > 6
    assert set(read.values()) == {200}
    assert any("phone" in summary for summary in read)


def test_a_keeper_brings_a_second_one_and_stands_on_it(world: World, ada):
    world.add_batch("Browns")

    send(ada, taken(world), as_member="Ada")

    farm = Farm.objects.exclude(pk=world.farm.pk).get()
    assert ada.session["farm_id"] == farm.pk
    assert Batch.objects.filter(name="Browns").count() == 2


def test_nobody_brings_a_farm_without_signing_in(world: World, client):
    before = counted()

    answer = send(client, taken(world))

    assert answer.url == "/login/?next=/bring/"
    assert counted() == before


def test_a_refused_file_is_said_at_its_field_and_nothing_is_saved(world: World, cleo):
    before = counted()

    answer = send(cleo, b"Dear", "letter.zip")

    assert answer.status_code == 200
    assert answer.context["form"].errors == {
        "file": [
            "This is no archive of a farm, or it was cut off on the way. Choose the .zip as it was saved."
        ]
    }
    assert counted() == before


def test_a_name_nobody_has_is_said_at_its_field(world: World, cleo):
    octets, before = taken(world), counted()

    answer = send(cleo, octets, as_member="Zoe")

    assert answer.context["form"].errors == {
        "as_member": ["No keeper of that farm is called so. Its keepers: Ada."]
    }
    assert counted() == before


def test_no_file_and_an_empty_one_are_asked_for(cleo):
    nothing = cleo.post("/bring/", {"as_member": "Ada"})
    empty = send(cleo, b"")

    assert nothing.context["form"].errors == {
        "file": ["Choose the .zip that “Take everything with you” saved."]
    }
    assert empty.context["form"].errors == {"file": ["This file is empty. Choose the .zip as it was saved."]}


@override_settings(ARCHIVE_MB=1)
def test_a_file_larger_than_the_server_takes_is_refused_unread(cleo):
    answer = send(cleo, bytes(1024 * 1024 + 1))

    assert answer.context["form"].errors == {
        "file": ["This file is larger than the 1 MB this server takes. Ask whoever runs it."]
    }
    assert "up to 1 MB" in answer.content.decode()


def test_a_farm_name_that_is_code_stays_text(world: World, cleo):
    Farm.objects.filter(pk=world.farm.pk).update(name="<img src=x onerror=alert(1)>")

    send(cleo, taken(world))

    page = cleo.get("/people/members/").content.decode()
    assert "<img src=x" not in page
    assert "&lt;img src=x" in page
