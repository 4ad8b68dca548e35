"""Birds kept out of orders."""

from __future__ import annotations

import pytest

from farm.errors import NotAllowed, NotFound, Stale
from farm.models import Hold
from farm.models.member import Role
from farm.services import counts, holds
from tests.conftest import TODAY, World
from tests.farm.judging import day, newest, refused


def test_a_hold_says_how_many_and_what_for(world: World):
    batch = world.add_batch("Browns")

    hold = holds.add(world.by, batch_id=batch.pk, birds=6, sex="female", reason=" breeders ")

    assert (hold.birds, hold.sex, hold.reason) == (6, "female", "breeders")
    assert newest().summary == "Browns: 6 birds kept out of orders (breeders)"
    assert (newest().noun, newest().noun_id) == ("batch", batch.pk)


@pytest.mark.parametrize("birds", [-1, 0, 31])
def test_no_more_are_held_than_are_alive_and_not_held_yet(world: World, birds: int):
    batch = world.add_batch("Browns")
    holds.add(world.by, batch_id=batch.pk, birds=10)

    assert refused(lambda: holds.add(world.by, batch_id=batch.pk, birds=birds)) == {
        "birds": ["Enter a number from 1 to 30."]
    }
    holds.add(world.by, batch_id=batch.pk, birds=30)
    assert refused(lambda: holds.add(world.by, batch_id=batch.pk, birds=1)) == {
        "birds": ["No birds of this batch are left to hold."]
    }


def test_birds_still_to_come_may_be_held(world: World):
    batch = world.add_batch("Browns", hatch_day=day(20), birds=8)

    assert holds.add(world.by, batch_id=batch.pk, birds=8).birds == 8


def test_a_sexed_batch_has_none_of_the_other_sex_to_hold(world: World):
    batch = world.add_batch("Hens", sex="sexed_female")

    assert list(refused(lambda: holds.add(world.by, batch_id=batch.pk, birds=1, sex="male"))) == ["sex"]
    assert list(refused(lambda: holds.add(world.by, batch_id=batch.pk, birds=1, sex="dragon"))) == ["sex"]


def test_after_losses_a_hold_may_shrink_and_be_renamed_but_not_grow(world: World):
    batch = world.add_batch("Browns", birds=10)
    hold = holds.add(world.by, batch_id=batch.pk, birds=10)
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=4, day=TODAY)

    def change(**fields: object) -> Hold:
        return holds.change(world.by, hold_id=hold.pk, expected_version=None, **fields)

    change(reason="breeders")
    assert change(birds=9).birds == 9
    assert refused(lambda: change(birds=10)) == {"birds": ["Enter a number from 1 to 6."]}


def test_holds_are_the_keepers_and_the_farms_own(world: World, elsewhere: World):
    batch = world.add_batch("Browns")
    hold = holds.add(world.by, batch_id=batch.pk, birds=1)
    helper = world.add_member("Hal", Role.HELPER)

    with pytest.raises(NotAllowed):
        holds.remove(helper, hold_id=hold.pk)
    with pytest.raises(NotFound):
        holds.remove(elsewhere.by, hold_id=hold.pk)
    with pytest.raises(Stale):
        holds.change(world.by, hold_id=hold.pk, expected_version=7, birds=2)
    holds.remove(world.by, hold_id=hold.pk)
    assert not Hold.objects.exists()
