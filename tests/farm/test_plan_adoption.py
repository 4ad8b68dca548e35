"""A plan is adopted whole or refused whole; what has happened and what is pinned is never touched."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from farm.errors import BadInput, Stale
from farm.models import Batch, Change, Farm, HistoryEntry, Plan, Stay
from farm.planning import solution as solutions
from farm.planning.window import Window
from farm.queries import occupancy, soundness
from farm.services import counts, history, housings, plans, stays
from tests.conftest import NOON, TODAY, World
from tests.farm.plan_cases import adopted, crowded, day, lived, plan_stay, refused, solved


def test_an_adopted_plan_is_what_the_board_shows(world: World):
    plan = solved(crowded(world))
    window = Window(TODAY, 90)
    assert occupancy.for_farm(world.farm, window, TODAY).breaches != ()

    adopted(world, plan)

    assert occupancy.for_farm(world.farm, window, TODAY).breaches == ()
    assert soundness.problems(world.farm) == []


def test_adopting_writes_one_history_entry_with_the_keepers_name(world: World):
    plan = solved(crowded(world), reason="Make room")

    entry = adopted(world, plan)

    plan.refresh_from_db()
    assert (plan.state, plan.adoption, plan.adopted_at) == ("adopted", entry, NOON)
    assert (entry.member, entry.verb) == (world.keeper, "adopt plan")
    assert entry.summary == "Plan adopted: Make room. Stays changed of: Reds"
    assert set(Change.objects.filter(entry=entry).values_list("model", flat=True)) == {"stay"}


def test_undo_takes_the_whole_adoption_back(world: World):
    plan = solved(crowded(world))
    before = lived(world)
    entry = adopted(world, plan)
    assert lived(world) != before

    history.undo(world.by, entry_id=entry.pk)

    assert lived(world) == before
    assert soundness.problems(world.farm) == []
    assert Plan.objects.get(pk=plan.pk).adoption.undone_by is not None


def test_undo_brings_back_a_planned_stay_for_more_birds_than_are_still_alive(world: World):
    batch = world.add_batch(
        "Reds", birds=40, age=14, housing="Brooder 2", housing_until=day(20), leaves_on=day(60)
    )
    plan_stay(world, batch, "Brooder 2", 20, 60)
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=2, day=TODAY)
    before = lived(world)

    history.undo(world.by, entry_id=adopted(world, solved(world)).pk)

    assert lived(world) == before


def test_what_has_happened_stays_as_it_was(world: World):
    crowded(world)
    batch = Batch.objects.get()
    stays.move(
        world.by,
        batch_id=batch.pk,
        from_id=world.housing["Brooder 2"].pk,
        to_id=world.housing["Brooder 1"].pk,
        birds=40,
        day=day(-4),
    )
    past = {row: row[2:4] for row in lived(world) if row[3] is not None and row[3] <= 0}

    adopted(world, solved(world))

    assert past == {("Reds", "Brooder 2", -14, -4, 40, False): (-14, -4)}
    assert past.keys() <= set(lived(world))


def test_nobody_is_moved_on_the_day_the_plan_is_made(world: World):
    plan = solved(crowded(world))

    adopted(world, plan)

    assert all(row[2] == -14 or row[2] > 0 for row in lived(world))
    [first] = [row for row in lived(world) if row[2] == -14]
    assert first[3] >= 1


def test_a_pinned_stay_is_not_touched(world: World):
    batch = world.add_batch(
        "Reds", birds=40, age=14, housing="Brooder 2", housing_until=day(2), leaves_on=day(60)
    )
    plan_stay(world, batch, "Brooder 2", 2, 40, pinned=True)
    pinned = Stay.objects.filter(pinned=True)
    [was] = pinned.values()

    adopted(world, solved(world))

    assert list(pinned.values()) == [was]
    assert soundness.problems(world.farm) == []


def test_a_stay_against_the_programme_for_a_reason_is_not_touched(world: World):
    batch = world.add_batch(
        "Reds", birds=40, age=14, housing="Brooder 1", housing_until=day(2), leaves_on=day(60)
    )
    plan_stay(world, batch, "Pen 1", 2, 60, override_reason="heated barn")
    [was] = Stay.objects.exclude(override_reason="").values()

    adopted(world, solved(world))

    assert list(Stay.objects.exclude(override_reason="").values()) == [was]


def test_a_running_pinned_stay_keeps_its_end(world: World):
    batch = world.add_batch(
        "Reds", birds=40, age=14, housing="Brooder 2", housing_until=day(30), leaves_on=day(60)
    )
    stay = batch.stays.get()
    stays.change(world.by, stay_id=stay.pk, expected_version=stay.version, pinned=True)

    adopted(world, solved(world))

    assert ("Reds", "Brooder 2", -14, 30, 40, True) in lived(world)
    assert soundness.problems(world.farm) == []


def test_only_the_planned_stays_that_differ_are_written_anew(world: World):
    crowded(world)
    world.add_batch("Blues", birds=10, age=0, hatch_day=day(7), housing="Brooder 1", leaves_on=day(40))
    blues = Stay.objects.get(batch__name="Blues")
    plan = solved(world)
    kept = solutions.from_json(plan.solution).by_batch[str(blues.batch_id)]
    same = [stay.housing for stay in kept.parts[0].stays] == [str(blues.housing_id)] and len(kept.parts) == 1

    adopted(world, plan)

    assert Stay.objects.filter(pk=blues.pk).exists() is same


def test_a_plan_that_is_what_the_stays_say_is_adopted_without_a_history_line(world: World):
    world.add_batch("Reds", birds=10, age=14, housing="Brooder 1", leaves_on=day(20))
    plan = solved(world)
    told = HistoryEntry.objects.count()

    assert adopted(world, plan) is None

    plan.refresh_from_db()
    assert (plan.state, plan.adoption, HistoryEntry.objects.count()) == ("adopted", None, told)


def test_a_plan_of_a_farm_that_changed_since_is_refused_with_what_changed(world: World):
    plan = solved(crowded(world))
    counts.add(world.by, batch_id=Batch.objects.get().pk, kind="died", birds=2, day=TODAY)

    error = refused(world, plan, Stale)

    assert error.changes == ["Ada: Reds: 2 birds died"]


@pytest.mark.parametrize("what", ["stay", "housing", "new batch", "settings"])
def test_whatever_the_plan_read_makes_it_stale(world: World, what: str):
    plan = solved(crowded(world))
    stay, room = Stay.objects.get(), world.housing["Pen 1"]
    if what == "stay":
        stays.change(world.by, stay_id=stay.pk, expected_version=None, end=day(50))
    elif what == "housing":
        housings.change(world.by, housing_id=room.pk, expected_version=None, area_m2=3.0)
    elif what == "new batch":
        world.add_batch("Blues", age=3)
    else:
        Farm.objects.filter(pk=world.farm.pk).update(move_weekdays=[1])

    assert len(refused(world, plan, Stale).changes) == 1


def test_a_chore_ticked_or_a_note_written_makes_no_plan_stale(world: World):
    plan = solved(crowded(world))
    world.add_member("Ben", "helper")
    Farm.objects.filter(pk=world.farm.pk).update(version=99)

    assert adopted(world, plan) is not None


def test_a_plan_can_be_adopted_days_later_as_long_as_it_moves_nobody_in_between(world: World):
    plan = solved(crowded(world))
    first = min(row[2] for row in _planned(plan))
    before = replace(world.by, today=day(first - 1), now=NOON + timedelta(days=first - 1))

    assert plans.adopt(before, plan_id=plan.pk, seen_version=plan.version) is not None


def test_a_plan_whose_first_move_has_passed_is_refused(world: World):
    plan = solved(crowded(world))
    first = min(row[2] for row in _planned(plan))
    late = replace(world.by, today=day(first), now=NOON + timedelta(days=first))

    refused(world, plan, Stale, by=late)


def _planned(plan: Plan) -> list[tuple]:
    found = solutions.from_json(plan.solution)
    return [
        (plan.batch, stay.housing, (stay.start - TODAY).days)
        for plan in found.plans
        for part in plan.parts
        for stay in part.stays[1:]
    ]


def test_a_plan_seen_before_it_was_worked_out_anew_is_refused(world: World):
    plan = solved(crowded(world))

    refused(world, plan, Stale, seen_version=plan.version - 1)


def test_a_plan_is_adopted_once(world: World):
    plan = solved(crowded(world))
    adopted(world, plan)
    plan.refresh_from_db()

    assert "adopted already" in str(refused(world, plan, BadInput))


def test_a_waiting_or_dropped_plan_cannot_be_adopted(world: World):
    plan = plans.propose(crowded(world).by)
    assert "still being worked out" in str(refused(world, plan, BadInput))

    plans.drop(world.by, plan_id=plan.pk)
    plan.refresh_from_db()
    assert "put aside" in str(refused(world, plan, BadInput))


def test_a_rule_broken_by_a_plan_refuses_all_of_it_and_names_the_batch(world: World):
    plan = solved(crowded(world))
    data = solutions.from_json(plan.solution)
    [reds] = data.plans
    cold = replace(
        reds.parts[0],
        stays=(
            replace(reds.parts[0].stays[0], housing=str(world.housing["Brooder 2"].pk), end=day(3)),
            replace(
                reds.parts[0].stays[-1], housing=str(world.housing["Pen 1"].pk), start=day(3), end=day(60)
            ),
        ),
    )
    whole = replace(cold, birds=40)
    plan.solution = replace(data, plans=(replace(reds, parts=(whole,)),)).to_json()
    plan.save()

    assert "Reds: Pen 1 has no heat" in str(refused(world, plan, BadInput))


def test_a_farm_without_housing_still_gets_a_plan_that_says_so(world: World):
    world.add_batch("Reds", birds=40, age=14)
    Stay.objects.all().delete()
    for row in list(world.housing.values()):
        housings.remove(world.by, housing_id=row.pk)

    plan = solved(world)

    assert plan.bill["terms"]["nowhere"] > 0
    assert adopted(world, plan) is None
