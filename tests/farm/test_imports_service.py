"""Many rows in one write: all of them or none, every complaint at once, one entry in the history."""

from datetime import timedelta

import pytest

from farm.errors import BadInput, NotAllowed
from farm.models import Batch, Change, CountEntry, Farm, HistoryEntry, Housing, RearingProgramme, Stay
from farm.services import history, imports, programmes
from farm.services.batches import NewBatch
from farm.services.imports import BatchRow
from tests.conftest import TODAY


def row(name, housing="Brooder 1", **fields):
    known = {"programme": "duck", "birds": 5, "hatch_day": TODAY - timedelta(days=3)} | fields
    return BatchRow(NewBatch(name=name, **known), housing)


def state():
    return (
        Housing.objects.count(),
        Batch.objects.count(),
        CountEntry.objects.count(),
        Stay.objects.count(),
        HistoryEntry.objects.count(),
        Change.objects.count(),
        RearingProgramme.objects.count(),
        list(Farm.objects.values_list("version", flat=True)),
    )


def test_every_housing_is_added_in_one_entry(world):
    before = HistoryEntry.objects.count()
    made = imports.add_housing(world.by, rows=[{"name": "A", "area_m2": 2.0}, {"name": "B", "area_m2": 3.0}])
    assert [one.name for one in made] == ["A", "B"]
    assert made[0].code != made[1].code
    assert [one.position for one in made] == [3, 4]
    assert HistoryEntry.objects.count() == before + 1
    assert HistoryEntry.objects.first().changes.count() == 2


def test_all_wrong_rows_are_named_by_place_and_field_and_nothing_is_written(world):
    before = state()
    rows = [{"name": "A", "area_m2": 2.0}, {"name": "A", "area_m2": 3.0}, {"name": "Pen 1", "area_m2": 1.0}]
    with pytest.raises(BadInput) as refused:
        imports.add_housing(world.by, rows=[*rows, {"name": "C", "area_m2": -1.0}])
    assert set(refused.value.fields) == {"1.name", "2.name", "3.area_m2"}
    assert state() == before


def test_batches_start_with_their_birds_and_stays_in_one_entry(world):
    before = HistoryEntry.objects.count()
    made = imports.start_batches(world.by, rows=[row("A"), row("B", ""), row("C", "BROODER 2")])
    assert [batch.stays.count() for batch in made] == [1, 0, 1]
    assert [batch.count_entries.get().birds for batch in made] == [5, 5, 5]
    assert HistoryEntry.objects.count() == before + 1


def test_rows_are_judged_against_each_other(world):
    before = state()
    world.add_housing("Alone", one_batch=True)
    before = state()
    with pytest.raises(BadInput) as refused:
        imports.start_batches(world.by, rows=[row("A", "Alone"), row("B", "Alone")])
    assert list(refused.value.fields) == ["1.housing_id"]
    assert state() == before


def test_a_wrong_last_row_takes_the_right_ones_back(world):
    before = state()
    with pytest.raises(BadInput) as refused:
        imports.start_batches(world.by, rows=[row("A"), row("B", birds=0), row("C", "Nowhere")])
    assert set(refused.value.fields) == {"1.birds", "2.housing"}
    assert state() == before


def test_a_programme_of_another_farm_is_refused_at_its_row(world, elsewhere):

    far = programmes.copy(elsewhere.by, source="duck", name="Far ducks")
    with pytest.raises(BadInput) as refused:
        imports.start_batches(world.by, rows=[row("A", programme=str(far.pk))])
    assert list(refused.value.fields) == ["0."]


def test_housing_of_another_farm_is_no_housing_here(world, elsewhere):
    elsewhere.add_housing("Far brooder")
    with pytest.raises(BadInput) as refused:
        imports.start_batches(world.by, rows=[row("A", "Far brooder")])
    assert list(refused.value.fields) == ["0.housing"]


def test_two_housings_that_differ_in_case_alone_are_told_apart(world):
    world.add_housing("brooder 1")
    made = imports.start_batches(world.by, rows=[row("A", "brooder 1"), row("B", "Brooder 1")])
    assert [batch.stays.get().housing.name for batch in made] == ["brooder 1", "Brooder 1"]
    with pytest.raises(BadInput):
        imports.start_batches(world.by, rows=[row("C", "BROODER 1")])


def test_trying_says_what_breaks_and_keeps_nothing(world):
    before = state()
    trial = imports.try_batches(world.by, rows=[row("Crowd", "Brooder 2", birds=500)])
    assert any("Brooder 2" in str(text) for text in trial.new)
    assert state() == before


def test_trying_refuses_what_saving_refuses(world):
    with pytest.raises(BadInput) as refused:
        imports.try_housing(world.by, rows=[{"name": "Pen 1", "area_m2": 1.0}])
    assert list(refused.value.fields) == ["0.name"]


def test_an_import_of_batches_is_undone_as_a_whole(world):
    imports.start_batches(world.by, rows=[row("A"), row("B", "Brooder 2")])
    history.undo(world.by, entry_id=HistoryEntry.objects.first().pk)
    assert (Batch.objects.count(), CountEntry.objects.count(), Stay.objects.count()) == (0, 0, 0)


@pytest.mark.parametrize("rows", [[], [{"name": f"P{n}", "area_m2": 1.0} for n in range(501)]])
def test_no_rows_and_too_many_rows_are_refused(world, rows):
    with pytest.raises(BadInput) as refused:
        imports.add_housing(world.by, rows=rows)
    assert list(refused.value.fields) == [""]
    assert Housing.objects.count() == 3


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_import(world, role):
    other = world.add_member("Cleo", role)
    with pytest.raises(NotAllowed):
        imports.add_housing(other, rows=[{"name": "A", "area_m2": 2.0}])
    with pytest.raises(NotAllowed):
        imports.try_batches(other, rows=[row("A")])
