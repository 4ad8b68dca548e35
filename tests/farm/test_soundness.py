"""`check_farm` finds what should never be there; each fault is put in past the services and the guards."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command

from farm.models import CountEntry, Housing, Stay
from farm.queries import soundness
from farm.services import counts
from tests.conftest import TODAY, World


def test_a_farm_written_by_the_services_is_sound(world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    entry = counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)
    counts.reverse(world.by, entry_id=entry.pk)

    assert soundness.problems(world.farm) == []


def test_a_ledger_below_zero_in_between_is_found_though_its_sum_is_not(world: World):
    batch = world.add_batch("Browns", birds=10)
    lost = counts.add(world.by, batch_id=batch.pk, kind="died", birds=4, day=TODAY)
    CountEntry.objects.filter(pk=lost.pk).update(day=batch.arrived_on - timedelta(days=1))

    assert soundness.problems(world.farm) == [
        f"batch {batch.pk} has 4 fewer than no birds on {batch.arrived_on - timedelta(days=1)}"
    ]


def test_a_reversal_of_another_size_is_found(world: World):
    batch = world.add_batch("Browns", birds=10)
    entry = counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)
    back = counts.reverse(world.by, entry_id=entry.pk)
    CountEntry.objects.filter(pk=back.pk).update(birds=1)

    assert soundness.problems(world.farm) == [f"count entry {back.pk} does not take back what it says"]


def test_a_stay_before_arrival_is_found(world: World):
    stay = world.add_batch("Browns", housing="Brooder 1").stays.get()
    Stay.objects.filter(pk=stay.pk).update(start=stay.start - timedelta(days=2))

    assert soundness.problems(world.farm) == [f"stay {stay.pk} starts before its batch arrives"]


def test_two_batches_in_housing_for_one_are_found(world: World):
    world.add_batch("Browns", housing="Brooder 1")
    other = world.add_batch("Reds", housing="Brooder 1").stays.get()
    Housing.objects.filter(pk=world.housing["Brooder 1"].pk).update(one_batch=True)

    found = soundness.problems(world.farm)

    assert f"housing {world.housing['Brooder 1'].pk} takes one batch, but has two on {other.start}" in found


def test_the_command_fails_and_names_the_farm(world: World, capsys):
    stay = world.add_batch("Browns", housing="Brooder 1").stays.get()
    Stay.objects.filter(pk=stay.pk).update(start=stay.start - timedelta(days=2))

    with pytest.raises(CommandError, match="1 things"):
        call_command("check_farm")

    assert f"farm {world.farm.pk}: stay {stay.pk}" in capsys.readouterr().err


def test_the_command_says_so_when_all_is_well(world: World, capsys):
    call_command("check_farm")

    assert capsys.readouterr().out == "1 farms checked: all sound.\n"
