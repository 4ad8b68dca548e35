"""Forms of housing: units at the edge, mistakes at their field, nothing lost from the form."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Housing, Observation
from farm.services import housings
from farm.web.housing.forms import by_kind
from tests.conftest import NOON, World

PEN = {
    "name": "Pen 2",
    "kind": "pen",
    "area_m2": "6.5",
    "feeder_cm": "120",
    "drinker_cm": "0",
    "max_age_gap_days": "7",
    "rest_days": "14",
    "indoor": "on",
}


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


def errors(answer: Any) -> dict[str, list[str]]:
    return {name: list(texts) for name, texts in answer.context["form"].errors.items()}


def test_a_new_housing_is_saved_and_shown(seen: Client, world: World):
    answer = seen.post("/housing/new/", PEN | {"species": ["duck", "goose"]})

    pen = Housing.objects.get(name="Pen 2")
    assert answer["Location"] == f"/housing/{pen.pk}/"
    assert (pen.farm, pen.area_m2, pen.feeder_cm, pen.heated, pen.indoor) == (
        world.farm,
        6.5,
        120,
        False,
        True,
    )
    assert pen.species == ["duck", "goose"]


def test_a_us_farm_types_feet_and_inches(seen: Client, world: World):
    world.farm.units = "us"
    world.farm.save()

    html = seen.get("/housing/new/").content.decode()
    seen.post("/housing/new/", PEN | {"area_m2": "100", "feeder_cm": "10"})

    assert "Floor the birds can use (ft²)" in html
    pen = Housing.objects.get(name="Pen 2")
    assert pen.area_m2 == pytest.approx(9.290304)
    assert pen.feeder_cm == pytest.approx(25.4)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("name", "Brooder 1"),
        ("area_m2", "0"),
        ("area_m2", "big"),
        ("area_m2", "6000"),
        ("feeder_cm", "-1"),
        ("rest_days", "366"),
        ("max_age_gap_days", "-1"),
        ("species", "ostrich"),
        ("in_service_from", "1850-01-01"),
        ("in_service_from", "soon"),
    ],
)
def test_a_mistake_is_told_at_its_field_and_nothing_typed_is_lost(seen: Client, field: str, value: str):
    before = Housing.objects.count()

    answer = seen.post("/housing/new/", PEN | {"notes": "by the oak", field: value})

    assert answer.status_code == 200
    assert list(errors(answer)) == [field]
    assert "by the oak" in answer.content.decode()
    assert Housing.objects.count() == before


def test_service_that_ends_before_it_begins_is_told_at_its_end(seen: Client):
    answer = seen.post(
        "/housing/new/", PEN | {"in_service_from": "2026-06-02", "in_service_to": "2026-06-01"}
    )

    assert list(errors(answer)) == ["in_service_to"]


def test_the_form_starts_with_what_a_kind_usually_has(seen: Client):
    form = seen.get("/housing/new/?kind=paddock").context["form"]

    assert (form.initial["kind"], form.initial["heated"], form.initial["indoor"]) == ("paddock", False, False)


def test_only_places_for_chicks_start_with_heat():
    heated = {kind for kind in ("brooder", "pen", "coop", "run", "paddock") if by_kind(kind)["heated"]}

    assert heated == {"brooder"}
    assert by_kind("castle") == by_kind("brooder")


def test_editing_keeps_what_is_not_touched(seen: Client, world: World):
    pen = world.add_housing("Pen 3", kind="pen", species=["duck"], rest_days=21, one_batch=True)
    form = seen.get(f"/housing/{pen.pk}/edit/").context["form"]
    typed = {name: value for name, value in form.initial.items() if value is not None and value is not False}

    seen.post(f"/housing/{pen.pk}/edit/", typed | {"area_m2": "9"})

    pen.refresh_from_db()
    assert (pen.area_m2, pen.species, pen.rest_days, pen.one_batch, pen.heated) == (
        9.0,
        ["duck"],
        21,
        True,
        True,
    )


def test_a_stale_form_says_what_changed_and_may_be_saved_again(seen: Client, world: World):
    pk = world.housing["Pen 1"].pk
    housings.change(world.by, housing_id=pk, expected_version=1, area_m2=20.0)

    answer = seen.post(f"/housing/{pk}/edit/", PEN | {"version": "1"})
    assert "Ada: Housing Pen 1 changed" in answer.content.decode()
    assert Housing.objects.get(pk=pk).area_m2 == 20.0

    again = answer.context["form"]["version"].value()
    assert seen.post(f"/housing/{pk}/edit/", PEN | {"version": again}).status_code == 302
    assert Housing.objects.get(pk=pk).area_m2 == 6.5


def test_a_rule_the_birds_break_is_told_at_its_field(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")
    pk = world.housing["Brooder 1"].pk

    answer = seen.post(f"/housing/{pk}/edit/", PEN | {"name": "Brooder 1", "version": "1"})

    assert list(errors(answer)) == ["heated"]
    assert Housing.objects.get(pk=pk).heated is True


def test_an_unused_housing_is_removed_only_after_asking(seen: Client, world: World):
    pk = world.housing["Pen 1"].pk

    assert "Remove Pen 1?" in seen.get(f"/housing/{pk}/remove/").content.decode()
    assert Housing.objects.filter(pk=pk).exists()
    assert seen.post(f"/housing/{pk}/remove/")["Location"] == "/housing/"
    assert not Housing.objects.filter(pk=pk).exists()


def test_a_housing_with_birds_is_not_removed(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")
    pk = world.housing["Brooder 1"].pk

    assert "Set that day" in seen.get(f"/housing/{pk}/remove/").content.decode()
    seen.post(f"/housing/{pk}/remove/")
    assert Housing.objects.filter(pk=pk).exists()


@pytest.mark.parametrize("path", ["new/", "{pk}/edit/", "{pk}/remove/"])
@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_come_to_the_forms(client: Client, world: World, role: str, path: str):
    client.force_login(world.add_member("Lina", role).login)
    pk = world.housing["Pen 1"].pk
    before = list(Housing.objects.values())

    address = f"/housing/{path.format(pk=pk)}"
    assert (client.get(address).status_code, client.post(address, PEN).status_code) == (403, 403)
    assert list(Housing.objects.values()) == before


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ({"kind": "temperature", "value": "31.5"}, ("temperature", 31.5, "", "")),
        ({"kind": "behaviour", "word": "huddled"}, ("behaviour", None, "huddled", "")),
        ({"kind": "note", "note": "wet corner"}, ("note", None, "", "wet corner")),
    ],
)
def test_what_is_seen_is_noted_even_by_a_child(
    client: Client, world: World, typed: dict[str, str], kept: tuple[Any, ...]
):
    client.force_login(world.add_member("Emil", "child").login)
    brooder = world.housing["Brooder 1"]

    answer = client.post(f"/housing/{brooder.pk}/observe/", typed | {"next": "card"})

    assert answer["Location"] == f"/h/{brooder.code}/"
    one = Observation.objects.get()
    assert (one.kind, one.value, one.word, one.note) == kept
    assert (one.housing, one.member.name) == (brooder, "Emil")


def test_a_us_farm_notes_fahrenheit(seen: Client, world: World):
    world.farm.units = "us"
    world.farm.save()

    seen.post(f"/housing/{world.housing['Brooder 1'].pk}/observe/", {"kind": "temperature", "value": "95"})

    assert Observation.objects.get().value == pytest.approx(35.0)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"kind": "temperature", "value": "90"}, "value"),
        ({"kind": "temperature", "value": ""}, "value"),
        ({"kind": "behaviour", "word": "dancing"}, "word"),
        ({"kind": "note", "note": " "}, "note"),
    ],
)
def test_what_cannot_be_right_is_told_at_its_field(
    seen: Client, world: World, typed: dict[str, str], field: str
):
    answer = seen.post(f"/housing/{world.housing['Brooder 1'].pk}/observe/", typed)

    assert list(errors(answer)) == [field]
    assert Observation.objects.count() == 0


def test_an_unknown_kind_of_sight_is_not_found(seen: Client, world: World):
    assert seen.post(f"/housing/{world.housing['Pen 1'].pk}/observe/", {"kind": "ufo"}).status_code == 404


def test_where_it_stands_is_kept_and_offered_to_the_next(seen: Client, world: World):
    seen.post("/housing/new/", PEN | {"whereabouts": " old  barn "})
    pen = Housing.objects.get(name="Pen 2")

    page = seen.get("/housing/new/").content.decode()
    form = seen.get(f"/housing/{pen.pk}/edit/").context["form"]

    assert pen.whereabouts == "old barn"
    assert '<option value="old barn">' in page
    assert 'list="places"' in page
    assert form["whereabouts"].value() == "old barn"


def test_where_it_stands_is_folded_until_it_is_refused(seen: Client, world: World):
    opened = seen.get("/housing/new/").context["form"]
    refused = seen.post("/housing/new/", PEN | {"whereabouts": "x" * 41}).context["form"]

    assert [field.name for field in opened.folded] == ["whereabouts"]
    assert refused.folded == []
    assert "whereabouts" in [field.name for field in refused.first]
    assert not Housing.objects.filter(name="Pen 2").exists()
