"""A hatch is recorded in one write: eggs, set and batch say the same, and no plan stands in the way of a fact."""

from __future__ import annotations

from typing import Any

import pytest

from farm.errors import NotAllowed, Stale
from farm.models import Batch, EggSet, HistoryEntry, Hold, Observation, Stay
from farm.queries import batches, hatching, heads, soundness, tally
from farm.services import egg_entries, egg_sets, hatches, observations, stays
from tests.conftest import TODAY, World
from tests.farm.egg_world import cabinet, day, on, put_in, refused


@pytest.fixture
def due(world: World) -> EggSet:
    """40 eggs set 21 days ago: they hatch today, yesterday at the earliest; 28 chicks are expected in Brooder 1."""
    return put_in(world, cabinet(world), 40, set_on=day(-21), housing_id=world.housing["Brooder 1"].pk)


def record(
    world: World, egg_set: EggSet, hatched: int = 30, *, offset: int = 0, **fields: Any
) -> Batch | None:
    fields = {"expected_version": None, "day": day(offset)} | fields
    return hatches.record(on(world, offset), egg_set_id=egg_set.pk, hatched=hatched, **fields)


def record_refused(world: World, egg_set: EggSet, **fields: Any) -> dict[str, list[str]]:
    fields = {"day": TODAY, "hatched": 30, "expected_version": None} | fields
    return refused(hatches.record, world.by, egg_set_id=egg_set.pk, **fields)


def days(batch: Batch) -> list[tuple[str, int, Any, Any, bool]]:
    return [(stay.housing.name, stay.birds, stay.start, stay.end, stay.actual) for stay in batch.stays.all()]


def test_one_write_records_the_eggs_ends_the_set_and_brings_the_batch(world: World, due: EggSet):
    batch = record(world, due, 30, culled=2, pipped=3, quitters=4, clear=1)

    due.refresh_from_db()
    assert (due.state, due.hatched_on, due.batch) == ("hatched", TODAY, batch)
    assert hatching.results_of(due) == {"hatched": 30, "culled": 2, "pipped": 3, "quitter": 4, "clear": 1}
    assert hatching.left_of(due) == 2
    assert (batch.expected, batch.hatch_day, heads.alive_on(batch, TODAY)) == (False, TODAY, 28)
    assert tally.tally(list(batch.count_entries.all())) == tally.Tally(came=30, died=2, left=0)
    assert days(batch) == [("Brooder 1", 28, TODAY, None, True)]
    assert batches.summary(batches.whole(world.farm, batch.pk), TODAY).unhoused == 0
    assert soundness.problems(world.farm) == []
    assert HistoryEntry.objects.order_by("-pk")[0].summary == "E1: 30 chicks hatched of 40 eggs"


def test_more_chicks_than_hoped_are_all_housed(world: World, due: EggSet):
    batch = record(world, due, 39)

    assert days(batch) == [("Brooder 1", 39, TODAY, None, True)]
    assert soundness.problems(world.farm) == []


def test_a_set_of_which_nothing_hatched_leaves_no_batch(world: World, due: EggSet):
    Hold.objects.create(farm=world.farm, batch=due.batch, birds=3)
    observations.add(world.by, kind="note", batch_id=due.batch.pk, note="heard nothing")
    place = world.housing["Brooder 1"].pk
    observations.add(world.by, kind="temperature", batch_id=due.batch.pk, housing_id=place, value=35.0)

    assert record(world, due, 0, quitters=40) is None

    due.refresh_from_db()
    assert (due.state, due.batch) == ("hatched", None)
    assert [list(model.objects.all()) for model in (Batch, Stay, Hold)] == [[], [], []]
    assert [seen.kind for seen in Observation.objects.all()] == ["temperature"]
    assert soundness.problems(world.farm) == []


def test_a_hatch_of_culled_chicks_only_needs_no_housing(world: World, due: EggSet):
    batch = record(world, due, 2, culled=2)

    assert heads.alive_on(batch, TODAY) == 0
    assert days(batch) == []
    assert soundness.problems(world.farm) == []


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"hatched": 41}, "hatched"),
        ({"hatched": -1}, "hatched"),
        ({"hatched": 30, "pipped": 11}, "pipped"),
        ({"hatched": 30, "pipped": 5, "clear": 6}, "clear"),
        ({"hatched": 30, "culled": 31}, "culled"),
        ({"hatched": 30, "culled": -1}, "culled"),
        ({"day": day(-2)}, "day"),
        ({"day": day(1)}, "day"),
    ],
)
def test_a_hatch_that_cannot_be_is_refused_at_its_field(
    world: World, due: EggSet, fields: dict[str, Any], field: str
):
    assert list(record_refused(world, due, **fields)) == [field]


def test_eggs_that_candling_took_out_do_not_hatch(world: World, due: EggSet):
    egg_entries.record(world.by, egg_set_id=due.pk, counts={"clear": 15}, day=day(-14))

    assert record_refused(world, due, hatched=26) == {
        "hatched": ["Of the 40 eggs only 25 are left for this. Enter no more."]
    }


def test_a_hatch_is_recorded_once(world: World, due: EggSet):
    record(world, due)

    assert record_refused(world, due) == {"": ["The hatch of E1 was already recorded."]}


def test_a_form_opened_before_the_set_was_changed_records_nothing(world: World, due: EggSet):
    egg_sets.change(world.by, egg_set_id=due.pk, expected_version=None, eggs=41)

    with pytest.raises(Stale):
        record(world, due, expected_version=1)
    assert Batch.objects.get().expected


def test_later_stays_move_along_with_a_late_hatch(world: World, due: EggSet):
    plan_pen(world, due.batch)

    batch = record(world, due, offset=2)

    assert batch.hatch_day == day(2)
    assert days(batch) == [
        ("Brooder 1", 30, day(2), day(57), True),
        ("Pen 1", 30, day(57), None, False),
    ]
    assert soundness.problems(world.farm) == []


def plan_pen(world: World, batch: Batch, start: int = 55, **fields: Any) -> None:
    """Plan the move of an expected batch into Pen 1."""
    first = batch.stays.get()
    stays.change(world.by, stay_id=first.pk, expected_version=None, end=day(start))
    pen = world.housing["Pen 1"].pk
    stays.add(
        world.by, batch_id=batch.pk, housing_id=pen, birds=first.birds, start=day(start), end=None, **fields
    )


def test_a_pinned_stay_keeps_its_days_at_a_late_hatch(world: World, due: EggSet):
    plan_pen(world, due.batch, pinned=True)

    batch = record(world, due, offset=2)

    assert [stay[2:4] for stay in days(batch)] == [(day(2), day(55)), (day(55), None)]


def test_a_stay_over_before_a_late_hatch_never_was(world: World, due: EggSet):
    plan_pen(world, due.batch, start=1, override_reason="warm days", pinned=True)

    batch = record(world, due, offset=2)

    assert days(batch) == [("Pen 1", 30, day(2), None, True)]


def test_an_early_hatch_is_recorded_although_the_brooder_is_still_taken(world: World):
    single = world.add_housing("Brooder 3", one_batch=True)
    world.add_batch("Reds", housing="Brooder 3", housing_until=TODAY)
    egg_set = put_in(world, cabinet(world), set_on=day(-21), housing_id=single.pk)

    batch = record(world, egg_set, day=day(-1))

    # Their housing waits for them from today on; yesterday they were without, as the board says.
    assert batch.hatch_day == day(-1)
    assert days(batch) == [("Brooder 3", 30, TODAY, None, True)]
    assert soundness.problems(world.farm) == []


def test_later_stays_that_cannot_move_keep_their_days_and_their_birds(world: World):
    single = world.add_housing("Pen 2", kind="pen", heated=False, one_batch=True)
    egg_set = put_in(world, cabinet(world), set_on=day(-21), housing_id=world.housing["Brooder 1"].pk)
    first = Stay.objects.get()
    stays.change(world.by, stay_id=first.pk, expected_version=None, end=day(55))
    plan = {"batch_id": egg_set.batch.pk, "birds": 28, "start": day(55), "end": day(80)}
    stays.add(world.by, housing_id=single.pk, **plan)
    reds = world.add_batch("Reds", age=60)
    stays.add(world.by, batch_id=reds.pk, housing_id=single.pk, birds=40, start=day(80), end=None)

    batch = record(world, egg_set, offset=2)

    assert [stay[:4] for stay in days(batch)] == [
        ("Brooder 1", 30, day(2), day(55)),
        ("Pen 2", 30, day(55), day(80)),
    ]
    assert heads.clipped(batch) == {}
    assert soundness.problems(world.farm) == []


def test_chicks_are_put_where_the_hatch_says(world: World, due: EggSet):
    plan_pen(world, due.batch)

    batch = record(world, due, housing_id=world.housing["Brooder 2"].pk)

    assert [stay[:4] for stay in days(batch)] == [
        ("Brooder 2", 30, TODAY, day(55)),
        ("Pen 1", 30, day(55), None),
    ]
    assert soundness.problems(world.farm) == []


def test_chicks_without_a_plan_are_put_where_the_hatch_says(world: World):
    egg_set = put_in(world, cabinet(world), set_on=day(-21))

    batch = record(world, egg_set, housing_id=world.housing["Brooder 2"].pk)

    assert days(batch) == [("Brooder 2", 30, TODAY, None, True)]


def test_a_cold_pen_is_refused_at_the_housing(world: World, due: EggSet):
    assert list(record_refused(world, due, housing_id=world.housing["Pen 1"].pk)) == ["housing_id"]


def test_a_leaving_day_that_has_passed_does_not_hold_a_hatch_up(world: World, due: EggSet):
    Batch.objects.update(leaves_on=day(2))

    assert record(world, due, offset=2).leaves_on is None


def test_a_helper_may_record_a_hatch_and_a_child_may_not(world: World, due: EggSet):
    child, helper = (world.add_member(name, role) for name, role in (("Mia", "child"), ("Tom", "helper")))
    fields = {"egg_set_id": due.pk, "day": TODAY, "hatched": 30, "expected_version": None}

    with pytest.raises(NotAllowed):
        hatches.record(child, **fields)
    assert hatches.record(helper, **fields).expected is False
