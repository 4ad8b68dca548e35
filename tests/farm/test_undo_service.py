"""Taking back each kind of write: what goes, what returns, and what is reversed and not deleted."""

from __future__ import annotations

from typing import Any

import pytest

from farm.models import (
    Batch,
    ChoreMark,
    CountEntry,
    HistoryEntry,
    Housing,
    Observation,
    ProgrammeVersion,
    RearingProgramme,
    Stay,
)
from farm.queries import heads, soundness
from farm.services import batches, chores, counts, history, housings, observations, programmes, stays
from tests.conftest import TODAY, World
from tests.farm.judging import day, newest, version


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks hatched and arrived 14 days ago, in Brooder 1 since then until further notice."""
    return world.add_batch("Browns", housing="Brooder 1")


def undo(world: World, entry: HistoryEntry | None = None) -> HistoryEntry:
    """Undo `entry`, the newest if none is named; whatever is undone, the farm stays sound."""
    done = history.undo(world.by, entry_id=(entry or newest()).pk)
    assert soundness.problems(world.farm) == []
    return done


def rows(model: type, **fields: Any) -> list[dict[str, Any]]:
    """Return the rows without their versions, which only ever rise."""
    return [
        {name: value for name, value in row.items() if name != "version"}
        for row in model.objects.filter(**fields).order_by("pk").values()
    ]


def test_undoing_says_what_it_undid_and_is_itself_in_the_history(world: World, browns: Batch):
    entry, before = newest(), version(world.farm)

    done = undo(world)

    assert done.summary == "Undone: Batch Browns started: 40 birds, hatched 17 April 2026"
    assert (done.undoes, done.verb, done.member) == (entry, "undo", world.keeper)
    assert (done.noun, done.noun_id) == ("batch", browns.pk)
    assert version(world.farm) == before + 1


def test_undoing_a_start_takes_the_whole_batch_with_its_count_and_stay(world: World, browns: Batch):
    undo(world)

    assert not Batch.objects.exists()
    assert not CountEntry.objects.exists()
    assert not Stay.objects.exists()


def test_undoing_the_undo_of_a_start_brings_the_same_batch_back(world: World, browns: Batch):
    was = {model: rows(model) for model in (Batch, CountEntry, Stay)}

    undo(world)
    undo(world)

    assert {model: rows(model) for model in (Batch, CountEntry, Stay)} == was


def test_undoing_a_count_reverses_it_and_deletes_nothing(world: World, browns: Batch):
    died = counts.add(world.by, batch_id=browns.pk, kind="died", birds=3, day=day(-1))

    undo(world)

    assert CountEntry.objects.filter(pk=died.pk, birds=-3).exists()
    opposite = CountEntry.objects.get(reverses=died)
    assert (opposite.kind, opposite.birds, opposite.day) == ("reversed", 3, day(-1))
    assert heads.alive_on(browns, TODAY) == 40


def test_undoing_a_taking_back_makes_the_line_count_again(world: World, browns: Batch):
    died = counts.add(world.by, batch_id=browns.pk, kind="died", birds=3, day=day(-1))
    counts.reverse(world.by, entry_id=died.pk)

    undo(world)

    assert heads.alive_on(browns, TODAY) == 37
    assert CountEntry.objects.filter(batch=browns).count() == 4


def test_undoing_the_undo_of_a_count_makes_it_count_again(world: World, browns: Batch):
    counts.add(world.by, batch_id=browns.pk, kind="sold", birds=5, day=TODAY)

    undo(world)
    undo(world)

    assert heads.alive_on(browns, TODAY) == 35


def test_undoing_a_change_of_a_batch_puts_its_words_back(world: World, browns: Batch):
    was = rows(Batch)
    batches.change(world.by, batch_id=browns.pk, expected_version=None, name="Reds", leaves_on=day(60))

    undo(world)

    assert rows(Batch) == was


def test_undoing_a_corrected_arrival_puts_count_and_stay_back_to_the_old_day(world: World, browns: Batch):
    batches.change(world.by, batch_id=browns.pk, expected_version=None, arrived_on=day(-10))

    undo(world)

    assert Stay.objects.get().start == day(-14)
    assert [heads.alive_on(browns, day(offset)) for offset in (-14, -10, 0)] == [40, 40, 40]


def test_undoing_a_move_to_another_programme_moves_it_back(world: World, browns: Batch):
    was = browns.programme_version
    ours = programmes.copy(world.by, source="chicken_dual", name="Ours").versions.get()
    batches.use_programme(world.by, batch_id=browns.pk, version_id=ours.pk, expected_version=None)

    undo(world)

    batch = Batch.objects.get()
    assert (batch.programme_version, batch.type) == (was, "layer")


def test_undoing_a_new_stay_takes_it_out_again(world: World):
    batch = world.add_batch("Browns")
    was = rows(Stay)
    stays.add(
        world.by,
        batch_id=batch.pk,
        housing_id=world.housing["Brooder 1"].pk,
        birds=40,
        start=TODAY,
        end=None,
    )

    undo(world)

    assert rows(Stay) == was


def test_undoing_a_changed_stay_puts_its_days_and_birds_back(world: World, browns: Batch):
    was = rows(Stay)
    stay = Stay.objects.get()
    stays.change(world.by, stay_id=stay.pk, expected_version=None, birds=30, end=day(20), pinned=True)

    undo(world)

    assert rows(Stay) == was


def test_undoing_a_removed_stay_brings_it_back_under_its_number(world: World, browns: Batch):
    was = rows(Stay)
    stays.remove(world.by, stay_id=Stay.objects.get().pk)

    undo(world)

    assert rows(Stay) == was


def test_undoing_a_move_puts_all_birds_back_where_they_were(world: World, browns: Batch):
    was = rows(Stay)
    old, new = (world.housing[name].pk for name in ("Brooder 1", "Brooder 2"))
    stays.move(world.by, batch_id=browns.pk, from_id=old, to_id=new, birds=15, day=TODAY)

    undo(world)

    assert rows(Stay) == was


def test_undoing_the_undo_of_a_move_moves_them_again(world: World, browns: Batch):
    old, new = (world.housing[name].pk for name in ("Brooder 1", "Brooder 2"))
    stays.move(world.by, batch_id=browns.pk, from_id=old, to_id=new, birds=15, day=TODAY)
    moved = rows(Stay)

    undo(world)
    undo(world)

    assert rows(Stay) == moved


def test_undoing_a_new_a_changed_and_a_removed_housing(world: World):
    was = rows(Housing)
    shed = world.add_housing("Shed", area_m2=6.0)
    undo(world)
    assert rows(Housing) == was

    pen = world.housing["Pen 1"]
    housings.change(world.by, housing_id=pen.pk, expected_version=None, area_m2=15.0, one_batch=True)
    undo(world)
    assert rows(Housing) == was

    housings.remove(world.by, housing_id=pen.pk)
    undo(world)
    assert rows(Housing) == was
    assert not Housing.objects.filter(pk=shed.pk).exists()


def test_undoing_a_housings_new_rule_puts_it_back_on_its_stays_too(world: World, browns: Batch):
    place = world.housing["Brooder 1"]
    housings.change(world.by, housing_id=place.pk, expected_version=None, one_batch=True)
    assert Stay.objects.get().one_batch is True

    undo(world)

    assert Stay.objects.get().one_batch is False


def test_undoing_an_observation_takes_it_away(world: World, browns: Batch):
    observations.add(world.by, kind="weight", batch_id=browns.pk, value=140.0, birds=10)

    undo(world)

    assert not Observation.objects.exists()


def test_undoing_a_tick_opens_the_chore_again_and_undoing_that_ticks_it(world: World, browns: Batch):
    chores.mark(world.by, source="room:1/feed_water", due=TODAY, round="morning", title="Feed and water")
    was = rows(ChoreMark)

    undo(world)
    assert not ChoreMark.objects.exists()
    undo(world)
    assert rows(ChoreMark) == was


def test_undoing_a_copied_programme_takes_the_copy_and_its_version(world: World):
    programmes.copy(world.by, source="duck", name="Our ducks")

    undo(world)

    assert not RearingProgramme.objects.filter(edited=True).exists()
    assert not ProgrammeVersion.objects.filter(programme__edited=True).exists()
    assert RearingProgramme.objects.filter(built_in="duck", edited=False).exists()
