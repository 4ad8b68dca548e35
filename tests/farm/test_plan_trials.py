"""A trial changes nothing until it is adopted; then what was tried is written with the stays, and undone with them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from farm.errors import BadInput
from farm.models import Batch, Housing, Plan, Stay
from farm.planning import changes as tries
from farm.planning import problem as planning
from farm.planning.window import Window
from farm.queries import heads, soundness, trial_rows
from farm.queries import plans as shown
from farm.services import history, plan_changes, plans, stays
from tests.conftest import TODAY, World
from tests.farm.plan_cases import adopted, crowded, day, lived, plan_stay, solved


def more(world: World, **fields: object) -> tries.AddBatch:
    """Return 20 meat chicks from day 20 to 50 as a change to try."""
    asked = {"name": "Blues", "birds": 20, "arrives": day(20), "age_days": 1, "leaves": day(50)} | fields
    return tries.AddBatch(trial_rows.batch_to_add(world.farm, "chicken_meat", **asked))


def state(world: World) -> tuple:
    """Return all a trial might touch."""
    return (
        lived(world),
        list(Batch.objects.filter(farm=world.farm).values("name", "hatch_day", "arrived_on", "leaves_on")),
        list(Housing.objects.filter(farm=world.farm).values("name", "area_m2", "rest_days", "in_service_to")),
        [heads.alive_on(batch, day(90)) for batch in Batch.objects.filter(farm=world.farm)],
    )


def later(world: World) -> Batch:
    """Return 20 chicks that arrive in 10 days and leave 50 days later, planned into Brooder 1."""
    return world.add_batch(
        "Later", birds=20, age=0, hatch_day=day(10), leaves_on=day(60), housing="Brooder 1"
    )


def test_a_trial_is_told_apart_and_changes_nothing(world: World):
    before = state(crowded(world))

    plan = solved(world, changes=[more(world)])

    assert (plan.kind, state(world)) == ("trial", before)
    assert [tries.from_json(each) for each in plan.changes] == [more(world)]


def test_adopting_a_batch_more_starts_it_with_its_stays(world: World):
    plan = solved(crowded(world), changes=[more(world)])

    adopted(world, plan)

    blues = Batch.objects.get(name="Blues")
    assert (blues.hatch_day, blues.arrived_on, blues.leaves_on) == (day(19), day(20), day(50))
    assert (heads.alive_on(blues, day(20)), blues.programme_version.programme.built_in) == (
        20,
        "chicken_meat",
    )
    assert min(row[2] for row in lived(world) if row[0] == "Blues") == 20
    assert soundness.problems(world.farm) == []


def test_undo_takes_the_new_batch_away_again(world: World):
    before = state(crowded(world))
    entry = adopted(world, solved(world, changes=[more(world)]))

    history.undo(world.by, entry_id=entry.pk)

    assert state(world) == before


def test_a_new_batch_needs_a_name_of_its_own(world: World):
    crowded(world)

    for name in ("Reds", " "):
        with pytest.raises(BadInput) as refused:
            plans.propose(world.by, changes=[more(world, name=name)])
        assert list(refused.value.fields) == ["name"]
    assert Plan.objects.count() == 0


def test_zero_birds_are_refused_before_anything_is_solved(world: World):
    with pytest.raises(BadInput, match="Blues has no birds"):
        plans.propose(world.by, changes=[more(world, birds=0)])


def test_a_change_of_what_is_not_there_is_refused_at_its_field(world: World):
    with pytest.raises(BadInput) as refused:
        plans.propose(world.by, changes=[tries.MoveArrival("99", day(3))])
    assert list(refused.value.fields) == ["batch"]


def test_an_arrival_moved_carries_hatch_day_ledger_and_stays_along(world: World):
    batch = later(world)

    adopted(world, solved(world, changes=[tries.MoveArrival(str(batch.pk), day(17))]))

    batch.refresh_from_db()
    assert (batch.hatch_day, batch.arrived_on, batch.leaves_on) == (day(17), day(17), day(60))
    assert (heads.alive_on(batch, day(16)), heads.alive_on(batch, day(17))) == (0, 20)
    assert min(row[2] for row in lived(world)) == 17


@pytest.mark.parametrize("birds", [8, 31])
def test_another_number_of_birds_is_expected_from_then_on(world: World, birds: int):
    batch = later(world)

    adopted(world, solved(world, changes=[tries.ChangeBirds(str(batch.pk), birds)]))

    assert heads.alive_on(batch, day(10)) == birds
    assert {row[4] for row in lived(world)} == {birds}
    assert soundness.problems(world.farm) == []


def test_birds_that_are_here_cannot_be_fewer_by_adopting_a_plan(world: World):
    crowded(world)
    batch = Batch.objects.get()
    plan = solved(world, changes=[tries.ChangeBirds(str(batch.pk), 20)])
    before = state(world)

    with pytest.raises(BadInput, match="Reds is here already"):
        adopted(world, plan)

    assert state(world) == before


def test_an_earlier_leaving_is_written(world: World):
    batch = later(world)

    adopted(world, solved(world, changes=[tries.LeaveEarly(str(batch.pk), 10)]))

    batch.refresh_from_db()
    assert (batch.leaves_on, max(row[3] for row in lived(world))) == (day(50), 50)


def test_a_batch_that_does_not_come_leaves_no_bird_and_no_stay(world: World):
    batch = later(world)
    before = state(world)

    entry = adopted(world, solved(world, changes=[tries.DropBatch(str(batch.pk))]))

    assert (heads.alive_on(batch, day(90)), lived(world)) == (0, [])
    history.undo(world.by, entry_id=entry.pk)
    assert state(world) == before


def test_a_housing_more_is_added_and_lived_in(world: World):
    crowded(world)
    barn = planning.Housing(trial_rows.housing_key(), "Barn", "brooder", 900, heated=True)
    lost = [tries.LoseHousing(str(world.housing[name].pk), day(3)) for name in ("Brooder 1",)]

    adopted(world, solved(world, changes=[tries.AddHousing(barn), *lost]))

    row = Housing.objects.get(name="Barn")
    assert (row.kind, row.area_m2, row.heated) == ("brooder", 9.0, True)
    assert "Barn" in {stay[1] for stay in lived(world)}


def test_a_housing_lost_is_out_of_use_from_its_day_and_nobody_is_planned_there(world: World):
    batch = world.add_batch("Reds", birds=20, age=14, housing="Brooder 1", leaves_on=day(60))
    room = world.housing["Brooder 1"]

    adopted(world, solved(world, changes=[tries.LoseHousing(str(room.pk), day(8))]))

    room.refresh_from_db()
    assert room.in_service_to == day(8)
    assert all(stay.end <= day(8) for stay in Stay.objects.filter(batch=batch, housing=room))


def test_a_stay_pinned_in_a_trial_is_pinned_once_adopted(world: World):
    crowded(world)
    batch = Batch.objects.get()
    pin = tries.PinStay(str(batch.pk), str(world.housing["Brooder 1"].pk), day(5), day(25))

    adopted(world, solved(world, changes=[pin]))

    assert ("Reds", "Brooder 1", 5, 25, 40, True) in lived(world)
    assert soundness.problems(world.farm) == []


def test_pins_let_go_in_a_trial_give_way(world: World):
    batch = world.add_batch(
        "Reds", birds=40, age=14, housing="Brooder 2", housing_until=day(2), leaves_on=day(60)
    )
    plan_stay(world, batch, "Brooder 2", 2, 60, pinned=True)

    adopted(world, solved(world, changes=[tries.DropPins(str(batch.pk))]))

    assert not Stay.objects.filter(pinned=True).exists()
    assert ("Reds", "Brooder 2", 2, 60, 40, True) not in lived(world)


def test_a_rest_waived_and_floor_built_are_kept(world: World):
    crowded(world)
    first, second = world.housing["Brooder 1"], world.housing["Brooder 2"]
    changes = [tries.WaiveRest(str(first.pk), 4), tries.ChangeArea(str(second.pk), 800)]

    adopted(world, solved(world, changes=changes))

    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.rest_days, second.area_m2) == (10, 8.0)


def test_what_the_records_have_no_place_for_is_said(world: World):
    room = str(world.housing["Pen 1"].pk)
    changes = [
        tries.LoseHousing(room, day(3), day(9)),
        tries.LoseHousing(room, day(20)),
        tries.ChangeArea(room, 500, day(1)),
        tries.ForbidHousing("1", room),
    ]

    said = [str(phrase) for phrase in plan_changes.not_kept(changes)]

    assert said[0] == "That a housing is closed from 4 May to 10 May is planned for, but not kept"
    assert len(said) == 3


def test_the_board_of_a_trial_shows_batch_and_housing_that_have_no_number(world: World):
    crowded(world)
    barn = planning.Housing(trial_rows.housing_key(), "Barn", "brooder", 900, heated=True)
    plan = solved(world, changes=[more(world), tries.AddHousing(barn)])

    sheet = shown.sheet(shown.shown(plan), Window(TODAY, 60), TODAY)

    assert {row.name for row in sheet.housings.values()} == {"Brooder 1", "Brooder 2", "Pen 1", "Barn"}
    [blues] = [row for row in sheet.batches.values() if row.name == "Blues"]
    assert (blues.pk, blues.hatch_day, blues.species) == (None, day(19), "chicken")
    assert sheet.breaches == ()


def test_contradictory_pins_are_planned_around_and_reported_never_enforced(world: World):
    crowded(world)
    batch = Batch.objects.get()
    pins = [
        tries.PinStay(str(batch.pk), str(world.housing[name].pk), day(5), day(25))
        for name in ("Brooder 1", "Pen 1")
    ]

    plan = solved(world, changes=pins)

    assert plan.bill["terms"]["pins"] == 20
    assert "20 days of pins not kept" in [str(line) for line in shown.shown(plan).bill]


def test_a_pin_that_ends_before_it_starts_is_refused_at_its_end(world: World):
    crowded(world)
    batch = Batch.objects.get()
    pin = tries.PinStay(str(batch.pk), str(world.housing["Pen 1"].pk), day(5), day(5))

    with pytest.raises(BadInput) as refused:
        plans.propose(world.by, changes=[pin])
    assert list(refused.value.fields) == ["end"]


def test_a_housing_smaller_than_one_bird_is_refused_with_its_name(world: World):
    crowded(world)
    box = replace(planning.Housing(trial_rows.housing_key(), "Shoebox", "brooder", 0))

    with pytest.raises(BadInput, match="Shoebox: Shoebox is smaller than one bird"):
        plans.propose(world.by, changes=[tries.AddHousing(box)])


def test_a_stay_moved_by_hand_makes_a_trial_stale_too(world: World):
    crowded(world)
    batch = Batch.objects.get()
    plan = solved(world, changes=[more(world)])
    stays.change(world.by, stay_id=batch.stays.get().pk, expected_version=None, end=day(40))

    assert len(shown.changed_since(plan)) == 1
