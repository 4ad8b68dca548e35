"""Adding, changing and removing machines for eggs: every refusal at its field, nothing saved."""

from __future__ import annotations

from typing import Any

import pytest

from farm.errors import NotAllowed, NotFound, Stale
from farm.models import HistoryEntry, Machine
from farm.queries import hatching
from farm.services import egg_sets, machines
from tests.conftest import World
from tests.farm.egg_world import cabinet, day, put_in, refused


def change(world: World, machine: Machine, **fields: Any) -> Machine:
    return machines.change(world.by, machine_id=machine.pk, expected_version=None, **fields)


def test_a_new_machine_is_in_the_history(world: World):
    machine = cabinet(world, " Cabinet 1 ")

    assert machine.name == "Cabinet 1"
    assert HistoryEntry.objects.order_by("-pk")[0].summary == "Machine Cabinet 1 added"


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"name": " "}, "name"),
        ({"does": "bakes"}, "does"),
        ({"air": "thin"}, "air"),
        ({"medium_eggs": -1}, "medium_eggs"),
        ({"medium_eggs": 100_001}, "medium_eggs"),
        ({"medium_eggs": 0}, "medium_eggs"),
        ({"cleaning_days": 31}, "cleaning_days"),
        ({"species": ["ostrich"]}, "species"),
        ({"in_service_from": day(30 * 366)}, "in_service_from"),
        ({"in_service_from": day(5), "in_service_to": day(5)}, "in_service_to"),
    ],
)
def test_a_machine_that_cannot_be_is_refused_at_its_field(world: World, fields: dict[str, Any], field: str):
    asked = {"name": "Cabinet 1", "does": "both", "medium_eggs": 60} | fields

    assert list(refused(machines.add, world.by, **asked)) == [field]


def test_two_machines_never_share_a_name(world: World):
    cabinet(world)

    said = refused(machines.add, world.by, name="Cabinet 1", does="both", medium_eggs=9)
    assert said == {"name": ["Another machine already has this name."]}


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"medium_eggs": 39}, "medium_eggs"),
        ({"medium_eggs": 0, "large_eggs": 40}, "medium_eggs"),
        ({"species": ["duck"]}, "species"),
        ({"in_service_to": day(10)}, "in_service_to"),
        ({"in_service_from": day(1)}, "in_service_from"),
        ({"does": "setter"}, "does"),
    ],
)
def test_a_machine_is_not_tightened_over_the_eggs_in_it(world: World, fields: dict[str, Any], field: str):
    machine = cabinet(world)
    put_in(world, machine)

    said = refused(machines.change, world.by, machine_id=machine.pk, expected_version=None, **fields)

    assert list(said) == [field]


def test_a_machine_may_be_changed_as_far_as_its_eggs_allow(world: World):
    machine = cabinet(world)
    put_in(world, machine)

    changed = change(world, machine, medium_eggs=40, species=["chicken"], in_service_to=day(23))

    assert (changed.medium_eggs, changed.species, changed.version) == (40, ["chicken"], 2)
    assert hatching.conflicts(world.farm) == ()


def test_a_machine_that_was_too_full_already_may_be_renamed(world: World):
    machine = cabinet(world)
    put_in(world, machine)
    Machine.objects.update(medium_eggs=10)

    assert change(world, machine, name="Old cabinet").name == "Old cabinet"


def test_a_form_opened_before_a_change_overwrites_nothing(world: World):
    machine = cabinet(world)
    change(world, machine, notes="in the cellar")

    with pytest.raises(Stale):
        machines.change(world.by, machine_id=machine.pk, expected_version=1, notes="upstairs")


def test_a_machine_that_held_eggs_stays_in_the_records(world: World):
    machine = cabinet(world)
    egg_set = put_in(world, machine)
    egg_sets.cancel(world.by, egg_set_id=egg_set.pk)

    assert list(refused(machines.remove, world.by, machine_id=machine.pk)) == [""]


def test_an_unused_machine_is_removed(world: World):
    machines.remove(world.by, machine_id=cabinet(world).pk)

    assert not Machine.objects.exists()


def test_only_a_keeper_changes_machines(world: World):
    machine, helper = cabinet(world), world.add_member("Tom", "helper")

    with pytest.raises(NotAllowed):
        machines.remove(helper, machine_id=machine.pk)


def test_another_farms_machine_is_not_found(world: World, elsewhere: World):
    theirs = cabinet(elsewhere)

    with pytest.raises(NotFound):
        change(world, theirs, name="Ours")
    with pytest.raises(NotFound):
        put_in(world, theirs)
