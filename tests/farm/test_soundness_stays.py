"""A stay that is said to have happened had birds, though they may all be lost since."""

from __future__ import annotations

from farm.models import Stay
from farm.queries import soundness
from farm.services import counts
from tests.conftest import World
from tests.farm.judging import day


def test_a_stay_that_happened_without_a_bird_is_told(world: World):
    """All forty are in Brooder 1; somebody wrote past the services that forty more are in Pen 1."""
    batch = world.add_batch("Browns", housing="Brooder 1")
    forged = Stay.objects.create(
        farm=world.farm,
        batch=batch,
        housing=world.housing["Pen 1"],
        birds=40,
        start=day(-3),
        end=None,
        actual=True,
    )

    assert soundness.problems(world.farm) == [f"stay {forged.pk} is said to have happened without a bird"]


def test_birds_that_all_died_on_the_day_they_came_leave_a_sound_farm(world: World):
    batch = world.add_batch("Browns", age=10, housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=40, day=day(-10))

    assert soundness.problems(world.farm) == []


def test_an_arrival_that_was_taken_back_leaves_a_sound_farm(world: World):
    batch = world.add_batch("Browns", age=10, housing="Brooder 1")
    counts.reverse(world.by, entry_id=batch.count_entries.get().pk)

    assert soundness.problems(world.farm) == []
