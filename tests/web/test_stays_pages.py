"""Pages that give a batch a place, change it, and move birds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, Stay
from farm.queries import heads
from farm.services import stays
from tests.conftest import NOON, TODAY, World


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks, 14 days old, without housing."""
    return world.add_batch("Browns")


def typed(world: World, housing: str = "Brooder 1", **fields: str) -> dict[str, str]:
    return {
        "housing_id": str(world.housing[housing].pk),
        "birds": "40",
        "start": "2026-05-01",
        "end": "2026-05-11",
    } | fields


def errors(answer: Any) -> dict[str, list[str]]:
    return {name: list(texts) for name, texts in answer.context["form"].errors.items()}


def test_a_batch_is_given_a_place(seen: Client, world: World, browns: Batch):
    answer = seen.post(f"/batches/{browns.pk}/stays/new/", typed(world, pinned="on"))

    stay = Stay.objects.get()
    assert answer["Location"] == f"/batches/{browns.pk}/"
    assert (stay.housing.name, stay.birds, stay.start, stay.end.isoformat()) == (
        "Brooder 1",
        40,
        TODAY,
        "2026-05-11",
    )
    assert stay.pinned is True


def test_the_form_starts_with_the_birds_that_have_no_place(seen: Client, world: World, browns: Batch):
    stays.add(
        world.by,
        batch_id=browns.pk,
        housing_id=world.housing["Brooder 1"].pk,
        birds=25,
        start=TODAY,
        end=None,
    )

    form = seen.get(f"/batches/{browns.pk}/stays/new/?housing=7").context["form"]

    assert (form.initial["birds"], form.initial["start"], form.initial["housing_id"]) == (15, TODAY, "7")


def test_the_choices_say_floor_and_heat(seen: Client, browns: Batch):
    html = seen.get(f"/batches/{browns.pk}/stays/new/").content.decode()

    assert "Brooder 1 (4.0 m², heated)" in html
    assert "Pen 1 (12.0 m², no heat)" in html


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"birds": "41"}, "birds"),
        ({"birds": "0"}, "birds"),
        ({"birds": "many"}, "birds"),
        ({"start": "2026-04-16"}, "start"),
        ({"start": ""}, "start"),
        ({"end": "2026-05-01"}, "end"),
        ({"end": "2062-05-11"}, "end"),
        ({"housing_id": ""}, "housing_id"),
        ({"housing_id": "999999"}, "housing_id"),
        ({"housing_id": "x"}, "housing_id"),
    ],
)
def test_a_mistake_is_told_at_its_field_and_nothing_typed_is_lost(
    seen: Client, world: World, browns: Batch, fields: dict[str, str], field: str
):
    answer = seen.post(
        f"/batches/{browns.pk}/stays/new/", typed(world, override_reason="sunny room") | fields
    )

    assert list(errors(answer)) == [field]
    assert "sunny room" in answer.content.decode()
    assert Stay.objects.count() == 0


def test_missing_heat_asks_for_the_reason_and_takes_it(seen: Client, world: World, browns: Batch):
    address = f"/batches/{browns.pk}/stays/new/"

    assert list(errors(seen.post(address, typed(world, "Pen 1")))) == ["override_reason"]
    assert Stay.objects.count() == 0
    assert seen.post(address, typed(world, "Pen 1", override_reason="heated barn")).status_code == 302
    assert Stay.objects.get().override_reason == "heated barn"


def test_another_farms_housing_is_no_choice(seen: Client, world: World, browns: Batch, elsewhere: World):
    theirs = elsewhere.add_housing("Secret shed")

    answer = seen.post(f"/batches/{browns.pk}/stays/new/", typed(world) | {"housing_id": str(theirs.pk)})

    assert list(errors(answer)) == ["housing_id"]
    assert "Secret" not in answer.content.decode()


def test_a_farm_without_housing_is_led_to_it(client: Client, elsewhere: World):
    batch = elsewhere.add_batch("Browns")
    client.force_login(elsewhere.keeper.login)

    assert "Add your first brooder" in client.get(f"/batches/{batch.pk}/stays/new/").content.decode()


def test_a_stay_is_changed(seen: Client, world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    stay = batch.stays.get()
    form = seen.get(f"/stays/{stay.pk}/").context["form"]
    assert (form.initial["birds"], form.initial["housing_id"]) == (40, stay.housing_id)

    answer = seen.post(f"/stays/{stay.pk}/", typed(world, start="2026-04-17", version="1"))

    assert answer.status_code == 302
    stay.refresh_from_db()
    assert (stay.end.isoformat(), stay.version) == ("2026-05-11", 2)


def test_a_stale_form_overwrites_nothing(seen: Client, world: World):
    stay = world.add_batch("Browns", housing="Brooder 1").stays.get()
    stays.change(world.by, stay_id=stay.pk, expected_version=1, birds=30)

    answer = seen.post(f"/stays/{stay.pk}/", typed(world, start="2026-04-17", version="1"))

    assert "Somebody changed this while you had it open" in answer.content.decode()
    assert Stay.objects.get().birds == 30


def test_a_stay_is_removed_only_after_asking(seen: Client, world: World):
    stay = world.add_batch("Browns", housing="Brooder 1").stays.get()

    assert "Remove this stay?" in seen.get(f"/stays/{stay.pk}/remove/").content.decode()
    assert Stay.objects.count() == 1
    seen.post(f"/stays/{stay.pk}/remove/")
    assert Stay.objects.count() == 0


def moving(world: World, birds: str = "25", **fields: str) -> dict[str, str]:
    return {
        "from_id": str(world.housing["Brooder 1"].pk),
        "to_id": str(world.housing["Brooder 2"].pk),
        "birds": birds,
        "day": "2026-05-01",
    } | fields


def test_birds_are_moved_by_a_helper(client: Client, world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    client.force_login(world.add_member("Lina", "helper").login)
    with time_machine.travel(NOON, tick=False):
        answer = client.post(f"/batches/{batch.pk}/move/", moving(world), follow=False)

    assert answer.status_code == 302
    held, free = heads.places_on(batch, TODAY)
    assert sorted((stay.housing.name, birds) for stay, birds in held) == [
        ("Brooder 1", 15),
        ("Brooder 2", 25),
    ]
    assert free == 0


def test_the_move_starts_where_the_birds_are(seen: Client, world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")

    form = seen.get(f"/batches/{batch.pk}/move/").context["form"]

    assert form.initial == {"day": TODAY, "from_id": world.housing["Brooder 1"].pk, "birds": 40}


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"birds": "41"}, "birds"),
        ({"birds": ""}, "birds"),
        ({"to_id": ""}, "to_id"),
        ({"day": "2027-12-01"}, "day"),
        ({"from_id": "999"}, "from_id"),
    ],
)
def test_a_mistaken_move_is_told_at_its_field(seen: Client, world: World, fields: dict[str, str], field: str):
    batch = world.add_batch("Browns", housing="Brooder 1")
    before = list(Stay.objects.values())

    answer = seen.post(f"/batches/{batch.pk}/move/", moving(world) | fields)

    assert list(errors(answer)) == [field]
    assert list(Stay.objects.values()) == before


def test_a_move_into_the_cold_asks_for_the_reason(seen: Client, world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")

    answer = seen.post(
        f"/batches/{batch.pk}/move/", moving(world) | {"to_id": str(world.housing["Pen 1"].pk)}
    )

    assert list(errors(answer)) == ["override_reason"]


def test_birds_without_a_place_are_given_one_first(seen: Client, browns: Batch):
    html = seen.get(f"/batches/{browns.pk}/move/").content.decode()

    assert f'href="/batches/{browns.pk}/stays/new/"' in html


def test_another_farms_batches_and_stays_are_not_found(seen: Client, world: World, elsewhere: World):
    elsewhere.add_housing("Shed")
    batch = elsewhere.add_batch("Secret", housing="Shed")
    stay = batch.stays.get()

    for address in (
        f"/batches/{batch.pk}/stays/new/",
        f"/batches/{batch.pk}/move/",
        f"/stays/{stay.pk}/",
        f"/stays/{stay.pk}/remove/",
    ):
        assert seen.get(address).status_code == 404
        assert seen.post(address, typed(world)).status_code == 404
    assert Stay.objects.get() == stay


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_plan(client: Client, world: World, role: str):
    batch = world.add_batch("Browns", housing="Brooder 1")
    client.force_login(world.add_member("Lina", role).login)
    stay = batch.stays.get()

    for address in (f"/batches/{batch.pk}/stays/new/", f"/stays/{stay.pk}/", f"/stays/{stay.pk}/remove/"):
        assert client.get(address).status_code == client.post(address, typed(world)).status_code == 403
    assert Stay.objects.get().version == 1


def test_a_child_does_not_move_birds(client: Client, world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    client.force_login(world.add_member("Emil", "child").login)

    assert client.post(f"/batches/{batch.pk}/move/", moving(world)).status_code == 403
    assert Stay.objects.count() == 1
