"""Those who sell chicks: every refusal at its field, nothing saved."""

from __future__ import annotations

from typing import Any

import pytest

from farm.errors import NotAllowed, Stale
from farm.models import Supplier
from farm.services import programmes, suppliers
from tests.conftest import World
from tests.farm.egg_world import chicks_from, refused


def add(world: World, name: str = "Mill Hatchery", **fields: Any) -> Supplier:
    return suppliers.add(world.by, name=name, **fields)


def test_a_supplier_sells_built_in_types_and_the_farms_own(world: World):
    own = programmes.copy(world.by, source="duck", name="Our ducks")

    supplier = add(world, " Mill Hatchery ", types=["chicken_meat", str(own.pk)], weekdays=[1, 3])

    assert (supplier.name, supplier.types) == ("Mill Hatchery", ["chicken_meat", str(own.pk)])


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"name": ""}, "name"),
        ({"types": ["unicorn"]}, "types"),
        ({"weekdays": [7]}, "weekdays"),
        ({"minimum": 0}, "minimum"),
        ({"lead_days": 366}, "lead_days"),
        ({"hours_on_the_way": 97}, "hours_on_the_way"),
    ],
)
def test_a_supplier_that_cannot_be_is_refused_at_its_field(world: World, fields: dict[str, Any], field: str):
    assert list(refused(suppliers.add, world.by, **{"name": "Mill Hatchery"} | fields)) == [field]


def test_two_suppliers_never_share_a_name(world: World):
    add(world)

    assert list(refused(suppliers.add, world.by, name="Mill Hatchery")) == ["name"]


def test_a_supplier_is_changed_but_not_from_a_stale_form(world: World):
    supplier = add(world)

    suppliers.change(world.by, supplier_id=supplier.pk, expected_version=1, minimum=25)
    with pytest.raises(Stale):
        suppliers.change(world.by, supplier_id=supplier.pk, expected_version=1, minimum=50)
    assert Supplier.objects.get().minimum == 25


def test_a_supplier_chicks_came_from_stays_in_the_records(world: World):
    used, unused = add(world), add(world, "Hill Hatchery")
    chicks_from(world, supplier_id=used.pk)

    assert list(refused(suppliers.remove, world.by, supplier_id=used.pk)) == [""]
    suppliers.remove(world.by, supplier_id=unused.pk)
    assert list(Supplier.objects.all()) == [used]


def test_only_a_keeper_adds_suppliers(world: World):
    with pytest.raises(NotAllowed):
        suppliers.add(world.add_member("Tom", "helper"), name="Mill Hatchery")
