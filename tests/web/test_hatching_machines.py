"""Machines are added, changed, taken out of use and removed on their pages."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Machine
from tests.conftest import NOON, World
from tests.web.hatching_world import cabinet, day, errors, put_in, said, sign_in, written


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def kept(form: Any) -> dict[str, Any]:
    """Return what a browser sends for a form as it opened."""
    values = {name: form[name].value() for name in form.fields}
    return {name: value for name, value in values.items() if value is not None and value is not False}


def test_the_form_of_a_new_machine_needs_a_name_and_a_number_of_eggs_alone(seen: Client, world: World):
    usual = kept(seen.get("/hatching/machines/new/").context["form"])

    answer = seen.post(
        "/hatching/machines/new/", usual | {"name": "Cabinet 1", "medium_eggs": "48", "large_eggs": ""}
    )

    machine = Machine.objects.get()
    assert answer.url == "/hatching/"
    assert machine.large_eggs == 0
    assert (machine.name, machine.does, machine.medium_eggs, machine.turns_itself) == (
        "Cabinet 1",
        "both",
        48,
        True,
    )


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "Taken"}, "name"),
        ({"medium_eggs": "0"}, "medium_eggs"),
        ({"medium_eggs": "-1"}, "medium_eggs"),
        ({"does": "oven"}, "does"),
        ({"species": ["dragon"]}, "species"),
        ({"in_service_from": "2026-05-02", "in_service_to": "2026-05-02"}, "in_service_to"),
    ],
)
def test_a_machine_that_cannot_be_is_refused_at_its_field(
    seen: Client, world: World, typed: dict, field: str
):
    cabinet(world, "Taken")
    usual = kept(seen.get("/hatching/machines/new/").context["form"]) | {"name": "New", "medium_eggs": "48"}
    before = written()

    answer = seen.post("/hatching/machines/new/", usual | typed)

    assert list(errors(answer)) == [field]
    assert written() == before


def test_the_list_says_what_fills_each_machine_and_who_turns(seen: Client, world: World):
    cabinet(world, small_eggs=120, turns_itself=False, species=["quail", "chicken"])
    cabinet(world, "Last days", does="hatcher", in_service_to=day(30))

    page = said(seen.get("/hatching/machines/"))

    assert "120 quail eggs or 60 hen's eggs" in page
    assert "Turning by hand Only for" in page
    assert "Out of use from 31 May 2026" in page


def test_eggs_are_never_set_in_a_hatcher_from_the_list(seen: Client, world: World):
    cabinet(world, does="hatcher")

    assert "Set eggs" not in said(seen.get("/hatching/machines/"))


def test_a_machine_with_eggs_is_not_made_too_small_for_them(seen: Client, world: World):
    machine = cabinet(world)
    put_in(world, machine, 40)
    form = seen.get(f"/hatching/machines/{machine.pk}/edit/").context["form"]

    refused = seen.post(f"/hatching/machines/{machine.pk}/edit/", kept(form) | {"medium_eggs": "30"})
    taken = seen.post(f"/hatching/machines/{machine.pk}/edit/", kept(form) | {"medium_eggs": "40"})

    assert list(errors(refused)) == ["medium_eggs"]
    assert taken.url == "/hatching/machines/"
    assert Machine.objects.get().medium_eggs == 40


def test_the_form_names_the_sets_that_count_on_the_machine(seen: Client, world: World):
    machine = cabinet(world)
    put_in(world, machine, 9)

    assert "Egg sets that count on it: E1" in said(seen.get(f"/hatching/machines/{machine.pk}/edit/"))


def test_an_unused_machine_is_removed_after_asking_and_a_used_one_is_not(seen: Client, world: World):
    unused, used = cabinet(world, "Unused"), cabinet(world, "Used")
    put_in(world, used, 9)

    assert "Remove Unused?" in said(seen.get(f"/hatching/machines/{unused.pk}/remove/"))
    seen.post(f"/hatching/machines/{unused.pk}/remove/")
    assert "Set that day" in said(seen.get(f"/hatching/machines/{used.pk}/remove/"))
    answer = seen.post(f"/hatching/machines/{used.pk}/remove/")

    assert list(errors(answer)) == [""]
    assert list(Machine.objects.all()) == [used]


def test_where_a_machine_stands_is_kept_and_offered_from_housing_too(seen: Client, world: World):
    world.add_housing("Loft", whereabouts="barn")
    page = seen.get("/hatching/machines/new/")
    usual = kept(page.context["form"]) | {"name": "Cabinet 1", "medium_eggs": "48"}

    seen.post("/hatching/machines/new/", usual | {"whereabouts": " barn "})

    assert '<option value="barn">' in page.content.decode()
    assert Machine.objects.get().whereabouts == "barn"
    machine = Machine.objects.get()
    again = seen.get(f"/hatching/machines/{machine.pk}/edit/").context["form"]
    assert [field.name for field in again.folded] == ["whereabouts"]
    assert again["whereabouts"].value() == "barn"


def test_a_place_too_long_is_refused_at_its_field(seen: Client, world: World):
    usual = kept(seen.get("/hatching/machines/new/").context["form"]) | {"name": "New", "medium_eggs": "48"}

    answer = seen.post("/hatching/machines/new/", usual | {"whereabouts": "x" * 41})

    assert list(errors(answer)) == ["whereabouts"]
