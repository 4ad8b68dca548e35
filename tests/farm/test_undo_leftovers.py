"""Undoing where other rows have come to rest on what would go, or have taken its place."""

from datetime import timedelta

import pytest

from farm.errors import BadInput, Stale
from farm.models import Batch, CountEntry, HistoryEntry, Stay
from farm.queries import heads, soundness
from farm.services import counts, history, housings, stays
from tests.conftest import TODAY


@pytest.fixture
def browns(world):
    """40 layers, 50 days old, so that they need no heat."""
    return world.add_batch("Browns", housing="Brooder 1", birds=40, age=50)


def latest(world):
    return HistoryEntry.objects.filter(farm=world.farm).first()


def undo(world, entry):
    return history.undo(world.by, entry_id=entry.pk)


def count_and_take_back(world, batch):
    entry = counts.add(world.by, batch_id=batch.pk, kind="died", birds=1, day=TODAY)
    counts.reverse(world.by, entry_id=entry.pk)


def test_a_batch_whose_later_counts_were_all_taken_back_goes_with_them(world, browns):
    started = latest(world)
    count_and_take_back(world, browns)
    count_and_take_back(world, browns)
    undo(world, started)
    assert (Batch.objects.count(), CountEntry.objects.count(), Stay.objects.count()) == (0, 0, 0)


def test_such_a_batch_returns_with_every_line_it_had(world, browns):
    started = latest(world)
    count_and_take_back(world, browns)
    lines = list(browns.count_entries.values_list("pk", "kind", "birds"))
    undo(world, undo(world, started))
    back = Batch.objects.get(pk=browns.pk)
    assert list(back.count_entries.values_list("pk", "kind", "birds")) == lines
    assert heads.alive_on(back, TODAY) == 40
    assert soundness.problems(world.farm) == []


def test_a_batch_of_which_one_count_still_stands_stays(world, browns):
    started = latest(world)
    count_and_take_back(world, browns)
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=1, day=TODAY)
    with pytest.raises(Stale) as refused:
        undo(world, started)
    assert "count entries by now" in str(refused.value)
    assert browns.count_entries.count() == 4


def test_housing_that_only_a_count_names_stays(world, browns):
    place = world.add_housing("Pen 2", kind="pen")
    added = latest(world)
    counts.add(world.by, batch_id=browns.pk, kind="found", birds=1, day=TODAY, housing_id=place.pk)
    with pytest.raises(Stale) as refused:
        undo(world, added)
    assert "count entries" in str(refused.value)
    assert type(place).objects.filter(pk=place.pk).exists()


def test_a_stay_does_not_return_into_housing_that_another_batch_has_taken(world, browns):
    place = world.housing["Brooder 1"]
    housings.change(world.by, housing_id=place.pk, expected_version=None, one_batch=True)
    stays.remove(world.by, stay_id=browns.stays.get().pk)
    removed = latest(world)
    world.add_batch("Whites", housing="Brooder 1", age=10)
    with pytest.raises(BadInput) as refused:
        undo(world, removed)
    assert "takes one batch at a time, and Whites is there" in str(refused.value)
    assert not browns.stays.exists()


def test_a_stay_does_not_return_for_birds_that_live_elsewhere_by_now(world, browns):
    stays.remove(world.by, stay_id=browns.stays.get().pk)
    removed = latest(world)
    day, pen = TODAY - timedelta(days=1), world.housing["Pen 1"].pk
    stays.add(world.by, batch_id=browns.pk, housing_id=pen, birds=40, start=day, end=None)
    with pytest.raises(BadInput) as refused:
        undo(world, removed)
    assert list(refused.value.fields) == ["birds"]
    assert [stay.housing.name for stay in browns.stays.all()] == ["Pen 1"]


def test_a_name_that_is_taken_by_now_is_not_given_twice(world, browns):
    started = latest(world)
    gone = undo(world, started)
    world.add_batch("Browns", age=3)
    with pytest.raises(BadInput) as refused:
        undo(world, gone)
    assert "Another batch already has this name." in str(refused.value)
    assert Batch.objects.count() == 1


def test_a_refused_undo_leaves_nothing_behind(world, browns):
    started = latest(world)
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=1, day=TODAY)
    before = HistoryEntry.objects.count(), Stay.objects.count(), CountEntry.objects.count()
    with pytest.raises(Stale):
        undo(world, started)
    assert (HistoryEntry.objects.count(), Stay.objects.count(), CountEntry.objects.count()) == before
