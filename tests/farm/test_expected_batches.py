"""Birds that are only expected: planned for like any others, but not counted, moved or dated apart from their eggs."""

from __future__ import annotations

import pytest

from farm.models import Batch, EggSet, Stay
from farm.planning.window import Window
from farm.queries import agenda, heads, occupancy, planning, soundness, survival
from farm.queries import batches as listing
from farm.services import batches, counts, egg_sets, hatches, intakes, stays, upkeep
from tests.conftest import TODAY, World
from tests.farm.egg_world import at, cabinet, chicks_from, day, on, put_in, refused


@pytest.fixture
def eggs(world: World) -> EggSet:
    """40 eggs that hatch in two days; 28 chicks are expected in Brooder 1."""
    return put_in(world, cabinet(world), 40, set_on=day(-19), housing_id=world.housing["Brooder 1"].pk)


def test_nothing_is_counted_of_birds_that_are_not_here(world: World, eggs: EggSet):
    coming = chicks_from(world, due=0)
    for batch, said in ((eggs.batch, "Record the hatch first."), (coming.batch, "Record the arrival first.")):
        line = batch.count_entries.get()
        for offset in (0, 30):
            by = on(world, offset)
            died = refused(counts.add, by, batch_id=batch.pk, kind="died", birds=1, day=day(offset))
            assert died == {"": [said]}
            assert refused(counts.reverse, by, entry_id=line.pk) == {"": [said]}


def test_their_days_are_changed_with_their_eggs_and_nowhere_else(world: World, eggs: EggSet):
    fields = {"hatch_day": day(3), "arrived_on": day(3), "name": "Spring chicks"}

    said = refused(batches.change, world.by, batch_id=eggs.batch.pk, expected_version=None, **fields)

    assert list(said) == ["hatch_day", "arrived_on"]
    assert "on the page of the egg set" in said["hatch_day"][0]
    change = {"name": "Spring chicks", "hatch_day": day(2), "leaves_on": day(80)}
    assert batches.change(world.by, batch_id=eggs.batch.pk, expected_version=None, **change).leaves_on == day(
        80
    )


def test_a_day_that_passes_unrecorded_leaves_their_stay_as_planned(world: World, eggs: EggSet):
    world.add_batch("Browns", age=-2, housing="Brooder 2")

    begun = upkeep.roll_over(farm_id=world.farm.pk, now=at(5))

    assert begun == 1
    assert [stay.actual for stay in Stay.objects.order_by("housing__name")] == [False, True]
    assert soundness.problems(world.farm) == []


def test_boards_and_plans_go_on_counting_them_after_their_day(world: World, eggs: EggSet):
    later = day(6)

    sheet = occupancy.for_farm(world.farm, Window(later, 1), later)
    made = planning.problem(world.farm, later)

    assert [batch.birds for batch in made.batches] == [28]
    assert sheet.unhoused[str(eggs.batch.pk)].tolist() == [0]
    assert heads.places_on(eggs.batch, later)[0][0][1] == 28


def test_a_list_says_of_them_that_they_are_expected_however_late(world: World, eggs: EggSet):
    whole = listing.whole(world.farm, eggs.batch.pk)

    summary = listing.summary(whole, day(60))

    assert (summary.state, summary.losses) == (listing.EXPECTED, None)
    assert survival.by_week(whole, day(60)) == []


def test_their_hatch_step_stays_open_until_it_is_recorded(world: World, eggs: EggSet):
    def jobs(offset: int) -> set[str]:
        work = agenda.on_day(world.farm, day(offset), day(offset))
        return {due.item.source for due in work.before}

    assert f"eggs:{eggs.pk}/hatch" in jobs(30)
    hatches.record(on(world, 30), egg_set_id=eggs.pk, day=day(2), hatched=25, expected_version=None)
    assert f"eggs:{eggs.pk}/hatch" not in jobs(30)


@pytest.mark.parametrize("place", ["Brooder 1", None])
def test_the_arrival_step_stays_open_until_the_chicks_are_recorded(world: World, place: str | None):
    housing = world.housing[place].pk if place else None
    intake = chicks_from(world, 50, due=2, housing_id=housing)

    def arrivals(offset: int) -> dict[str, str]:
        work = agenda.on_day(world.farm, day(offset), day(offset))
        return {due.item.source: str(due.item.title) for due in (*work.before, *work.due)}

    step = f"batch:{intake.batch.pk}/arrival"
    assert step in arrivals(2)
    assert "49 birds of Mill Hatchery, 3 May" in arrivals(40)[step]
    intakes.arrive(on(world, 40), intake_id=intake.pk, arrived_at=at(2), alive=47, expected_version=None)
    assert step not in arrivals(40)


def test_birds_that_are_not_here_cannot_be_moved_today_but_may_be_planned_to(world: World, eggs: EggSet):
    brooder, pen = world.housing["Brooder 1"].pk, world.housing["Pen 1"].pk
    move = {"batch_id": eggs.batch.pk, "from_id": brooder, "to_id": pen, "birds": 28}

    assert refused(stays.move, on(world, 3), day=day(3), **move) == {"": ["Record the hatch first."]}
    planned = stays.move(on(world, 3), day=day(50), **move)
    assert (planned.start, planned.actual) == (day(50), False)


def test_a_stay_typed_for_today_has_not_happened_before_the_hatch_is_recorded(world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-21))
    place = world.housing["Brooder 1"].pk

    stay = stays.add(world.by, batch_id=egg_set.batch.pk, housing_id=place, birds=28, start=TODAY, end=None)
    changed = stays.change(world.by, stay_id=stay.pk, expected_version=None, end=day(40))

    assert (stay.actual, changed.actual) == (False, False)
    assert soundness.problems(world.farm) == []
    hatches.record(world.by, egg_set_id=egg_set.pk, day=TODAY, hatched=28, expected_version=None)
    assert Stay.objects.get().actual


def test_the_line_of_a_recorded_hatch_is_corrected_like_any_other(world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-21))
    batch = hatches.record(world.by, egg_set_id=egg_set.pk, day=TODAY, hatched=30, expected_version=None)
    line = batch.count_entries.get(kind="hatched", birds=30)

    counts.add(world.by, batch_id=batch.pk, kind="found", birds=31, day=TODAY)
    counts.reverse(world.by, entry_id=line.pk)

    assert heads.alive_on(batch, TODAY) == 31
    assert soundness.problems(world.farm) == []


def test_soundness_sees_an_expected_batch_without_eggs(world: World, eggs: EggSet):
    lost = world.add_batch("Lost")
    Batch.objects.filter(pk=lost.pk).update(expected=True)
    Batch.objects.filter(pk=eggs.batch.pk).update(expected=False)

    found = soundness.problems(world.farm)

    assert f"batch {lost.pk} is expected of 0 egg sets or intakes" in found
    assert f"egg set {eggs.pk} is open, its batch {eggs.batch.pk} is not" in found


def test_soundness_sees_stays_and_days_that_cannot_be(world: World, eggs: EggSet):
    Stay.objects.update(actual=True)
    Batch.objects.update(arrived_on=day(3))

    found = soundness.problems(world.farm)

    assert f"batch {eggs.batch.pk} is only expected, but has a stay that has happened" in found
    assert f"batch {eggs.batch.pk} is expected on {day(3)}, its egg set {eggs.pk} on {day(2)}" in found


def test_a_cancelled_set_and_intake_leave_nothing_to_plan(world: World, eggs: EggSet):
    egg_sets.cancel(world.by, egg_set_id=eggs.pk)
    intakes.cancel(world.by, intake_id=chicks_from(world).pk)

    assert planning.problem(world.farm, TODAY).batches == ()
