"""Those who sell chicks: listed, added, changed, removed."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine
from django.test import Client

from farm.models import Supplier
from farm.services import suppliers
from tests.conftest import NOON, World
from tests.web.hatching_world import chicks_from, errors, said, sign_in, written


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


USUAL = {"name": "Mill", "lead_days": "10", "hours_on_the_way": "24", "minimum": "25"}


def test_a_supplier_is_added_with_its_days_and_types(seen: Client, world: World):
    assert "Add your first supplier" in said(seen.get("/hatching/suppliers/"))

    seen.post("/hatching/suppliers/new/", USUAL | {"weekdays": ["3", "1"], "types": ["duck"], "sexed": "on"})

    mill = Supplier.objects.get()
    assert (sorted(mill.weekdays), mill.types, mill.minimum, mill.sexed) == ([1, 3], ["duck"], 25, True)
    page = said(seen.get("/hatching/suppliers/"))
    assert "Tuesday, Thursday, 10 days after ordering" in page
    assert "about 24 hours" in page


def test_the_form_starts_with_what_is_usual(seen: Client, world: World):
    form = seen.get("/hatching/suppliers/new/").context["form"]

    assert [form[name].value() for name in ("lead_days", "hours_on_the_way", "minimum")] == [14, 36, 1]


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"name": " "}, "name"),
        ({"name": "Taken"}, "name"),
        ({"minimum": "0"}, "minimum"),
        ({"hours_on_the_way": "97"}, "hours_on_the_way"),
        ({"weekdays": ["7"]}, "weekdays"),
        ({"types": ["dragon"]}, "types"),
    ],
)
def test_a_supplier_that_cannot_be_is_refused_at_its_field(
    seen: Client, world: World, typed: dict, field: str
):
    suppliers.add(world.by, name="Taken")
    before = written()

    answer = seen.post("/hatching/suppliers/new/", USUAL | typed)

    assert list(errors(answer)) == [field]
    assert written() == before


def test_a_supplier_is_changed_and_a_form_opened_earlier_is_refused(seen: Client, world: World):
    mill = suppliers.add(world.by, name="Mill")

    first = seen.post(f"/hatching/suppliers/{mill.pk}/edit/", USUAL | {"version": str(mill.version)})
    second = seen.post(
        f"/hatching/suppliers/{mill.pk}/edit/", USUAL | {"version": str(mill.version), "minimum": "9"}
    )

    assert first.url == "/hatching/suppliers/"
    assert errors(second)[""]
    assert Supplier.objects.get().minimum == 25


def test_a_supplier_chicks_came_from_stays(seen: Client, world: World):
    used, unused = suppliers.add(world.by, name="Used"), suppliers.add(world.by, name="Unused")
    chicks_from(world, supplier_id=used.pk)

    assert "it stays in the records" in said(seen.get(f"/hatching/suppliers/{used.pk}/remove/"))
    assert list(errors(seen.post(f"/hatching/suppliers/{used.pk}/remove/"))) == [""]
    assert seen.post(f"/hatching/suppliers/{unused.pk}/remove/").url == "/hatching/suppliers/"
    assert list(Supplier.objects.all()) == [used]
