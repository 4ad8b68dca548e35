"""Trials of birds that are only expected move or cancel, once adopted, the eggs or the intake; never their number."""

from __future__ import annotations

import pytest

from farm.errors import BadInput
from farm.models import Batch, EggSet, Intake, Stay
from farm.planning import changes as tries
from farm.queries import heads, soundness
from farm.services import hatches, history
from tests.conftest import World
from tests.farm.egg_world import cabinet, chicks_from, put_in
from tests.farm.judging import newest
from tests.farm.plan_cases import adopted, day, lived, solved


@pytest.fixture
def eggs(world: World) -> EggSet:
    """40 eggs to be set in five days; 28 chicks are expected in Brooder 1 in 26 days."""
    return put_in(world, cabinet(world), 40, set_on=day(5), housing_id=world.housing["Brooder 1"].pk)


def test_a_hatch_tried_later_sets_the_eggs_later(world: World, eggs: EggSet):
    adopted(world, solved(world, changes=[tries.MoveArrival(str(eggs.batch.pk), day(30))]))

    eggs.refresh_from_db()
    batch = Batch.objects.get()
    assert (eggs.set_on, batch.hatch_day, batch.expected) == (day(9), day(30), True)
    assert heads.alive_on(batch, day(30)) == 28
    assert min(stay.start for stay in Stay.objects.all()) == day(30)
    assert not Stay.objects.filter(actual=True).exists()
    assert soundness.problems(world.farm) == []


def test_an_intake_tried_later_is_due_later_and_back_when_undone(world: World):
    intake = chicks_from(world, 50, due=10, housing_id=world.housing["Brooder 1"].pk)
    before = lived(world)
    adopted(world, solved(world, changes=[tries.MoveArrival(str(intake.batch.pk), day(14))]))

    intake.refresh_from_db()
    assert (intake.due_on, Batch.objects.get().hatch_day) == (day(14), day(13))
    assert soundness.problems(world.farm) == []
    history.undo(world.by, entry_id=newest().pk)
    assert (Intake.objects.get().due_on, lived(world)) == (day(10), before)
    assert soundness.problems(world.farm) == []


def test_birds_dropped_in_a_trial_cancel_what_they_are_expected_of(world: World, eggs: EggSet):
    intake = chicks_from(world)
    dropped = [tries.DropBatch(str(row.batch.pk)) for row in (eggs, intake)]

    adopted(world, solved(world, changes=dropped))

    assert (EggSet.objects.get().state, Intake.objects.get().state) == ("cancelled", "cancelled")
    assert not Batch.objects.exists()
    assert soundness.problems(world.farm) == []


def test_how_many_hatch_is_not_for_a_plan_to_say(world: World, eggs: EggSet):
    plan = solved(world, changes=[tries.ChangeBirds(str(eggs.batch.pk), 20)])

    with pytest.raises(BadInput) as refused:
        adopted(world, plan)

    assert "follows from their eggs or their intake" in str(refused.value)
    assert heads.alive_on(Batch.objects.get(), day(26)) == 28


def test_a_plan_of_late_birds_that_are_not_recorded_houses_them_once_and_the_hatch_follows(world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-23), housing_id=world.housing["Brooder 2"].pk)
    Batch.objects.update(leaves_on=day(90))

    adopted(world, solved(world))

    assert soundness.problems(world.farm) == []
    assert not Stay.objects.filter(actual=True).exists()
    held, unhoused = heads.places_on(egg_set.batch, day(40))
    assert (sum(birds for _stay, birds in held), unhoused) == (28, 0)
    hatch = {"egg_set_id": egg_set.pk, "day": day(-1), "hatched": 30, "expected_version": None}
    batch = hatches.record(world.by, **hatch)
    assert soundness.problems(world.farm) == []
    assert heads.places_on(batch, day(0))[1] == 0
