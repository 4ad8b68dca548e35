"""A farm's rows as a planning problem: every number on the safe side, nothing that has happened left open."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.husbandry import needs
from farm.models import Farm, Stay
from farm.planning import problem as planning
from farm.planning import validate
from farm.planning.problem import Apart, Left, PartSize, Past, Pin
from farm.planning.solution import PlanStay
from farm.queries import planning as query
from farm.services import counts, demo, stays
from farm.trade import load
from tests.conftest import NOON, TODAY, World


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


def problem(world: World) -> planning.Problem:
    world.farm.refresh_from_db()
    found = query.problem(world.farm, TODAY)
    assert validate.problems(found) == ()
    return found


def key(world: World, name: str) -> str:
    return str(world.housing[name].pk)


def chain(world: World, found: planning.Problem, part: int = 0) -> list[PlanStay]:
    names = {str(row.pk): name for name, row in world.housing.items()}
    [plan] = found.adopted
    return [replace(stay, housing=names.get(stay.housing or "")) for stay in plan.parts[part].stays]


def test_housing_is_rounded_down_and_keeps_its_rules(world: World):
    row = world.add_housing(
        "Odd", area_m2=1.239, feeder_cm=10.19, drinker_cm=5.0, one_batch=True, in_service_from=day(3)
    )

    [odd] = [each for each in problem(world).housings if each.key == str(row.pk)]

    assert (odd.area_dm2, odd.feeder_mm, odd.drinker_mm) == (123, 101, 50)
    assert (odd.one_batch, odd.in_service_from, odd.rest_days) == (True, day(3), 14)


def test_needs_are_rounded_up_by_less_than_one_unit_at_every_age(world: World):
    world.add_batch("Browns", housing="Brooder 1")

    [batch] = problem(world).batches
    asked = needs.needs(load.programmes()["chicken_layer_brown"], len(batch.demand.area_mm2))

    for value, true in zip(batch.demand.area_mm2, asked.area_m2, strict=True):
        assert 0 <= value - true * 1e6 + 1e-3 < 1
    assert list(batch.demand.heat) == asked.heat.tolist()


def test_birds_that_are_here_stay_where_they_are_until_tomorrow(world: World):
    world.add_batch("Browns", age=14, housing="Brooder 1")

    [batch] = problem(world).batches

    assert batch.history == (Past(key(world, "Brooder 1"), day(-14), day(1)),)
    assert (batch.arrival.day, batch.age_at_arrival_days, batch.birds) == (day(-14), 0, 40)


def test_a_batch_without_housing_is_planned_as_if_it_came_today(world: World):
    world.add_batch("Browns", age=14)

    [batch] = problem(world).batches

    assert (batch.history, batch.arrival.day, batch.age_at_arrival_days) == ((), TODAY, 14)


def test_birds_that_died_are_planned_for_no_more(world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)

    assert [each.birds for each in problem(world).batches] == [37]


def test_losses_are_planned_for_only_when_asked_and_never_fall_below_one_bird(world: World):
    world.add_batch("Browns", age=0, birds=2, hatch_day=TODAY)

    [safe] = query.problem(world.farm, TODAY).batches
    [sure] = query.problem(world.farm, TODAY, sure=0.01).batches

    assert safe.survivors == ()
    assert (sure.survivors[0], sure.survivors[-1]) == (2, 1)
    assert list(sure.survivors) == sorted(sure.survivors, reverse=True)


def test_what_is_planned_now_is_the_plan_to_stay_near(world: World):
    batch = world.add_batch("Browns", age=14, housing="Brooder 1", housing_until=day(28), leaves_on=day(60))
    stays.add(
        world.by, batch_id=batch.pk, housing_id=world.housing["Pen 1"].pk, birds=40, start=day(28), end=None
    )

    assert chain(world, problem(world)) == [
        PlanStay("Brooder 1", TODAY, day(28)),
        PlanStay("Pen 1", day(28), day(60)),
    ]


def test_days_without_a_stay_are_days_without_housing(world: World):
    world.add_batch("Browns", age=14, housing="Brooder 1", housing_until=day(28), leaves_on=day(60))

    assert chain(world, problem(world)) == [
        PlanStay("Brooder 1", TODAY, day(28)),
        PlanStay(None, day(28), day(60)),
    ]


def test_a_batch_in_two_housings_is_in_two_parts_each_with_its_past(world: World):
    batch = world.add_batch("Browns", age=14, housing="Brooder 1")
    stays.move(
        world.by,
        batch_id=batch.pk,
        from_id=world.housing["Brooder 1"].pk,
        to_id=world.housing["Brooder 2"].pk,
        birds=15,
        day=TODAY,
    )
    left, moved = batch.stays.get(birds=25), batch.stays.get(birds=15)

    [found] = problem(world).batches

    assert found.parts == (PartSize(f"{left.pk}.1", 25), PartSize(f"{moved.pk}.1", 15))
    assert {(past.housing, past.part) for past in found.history if past.end == day(1)} == {
        (key(world, "Brooder 1"), f"{left.pk}.1"),
        (key(world, "Brooder 2"), f"{moved.pk}.1"),
    }


def test_birds_planned_into_two_pens_are_one_batch_with_two_ways(world: World):
    world.add_housing("Pen 2", kind="pen", area_m2=12.0, heated=False)
    batch = world.add_batch("Browns", age=14, housing="Brooder 1", housing_until=day(28))
    for pen, birds in (("Pen 1", 25), ("Pen 2", 15)):
        stays.add(
            world.by,
            batch_id=batch.pk,
            housing_id=world.housing[pen].pk,
            birds=birds,
            start=day(28),
            end=None,
        )
    found = problem(world)

    assert (found.batches[0].parts, [part.birds for part in found.adopted[0].parts]) == ((), [25, 15])
    assert [stay.housing for stay in chain(world, found, 1)] == ["Brooder 1", "Pen 2"]


def test_pinned_stays_and_those_with_a_recorded_reason_are_pins(world: World):
    batch = world.add_batch("Browns", age=14, housing="Brooder 1", housing_until=day(5), leaves_on=day(90))
    pinned = {"batch_id": batch.pk, "birds": 40}
    stays.add(
        world.by,
        housing_id=world.housing["Pen 1"].pk,
        start=day(5),
        end=day(8),
        override_reason="warm barn",
        **pinned,
    )
    stays.add(
        world.by, housing_id=world.housing["Brooder 2"].pk, start=day(8), end=None, pinned=True, **pinned
    )
    of = str(batch.pk)

    assert problem(world).pins == (
        Pin(of, key(world, "Pen 1"), day(5), day(8)),
        Pin(of, key(world, "Brooder 2"), day(8), day(90)),
    )


def test_a_pin_of_some_of_the_birds_names_their_part(world: World):
    batch = world.add_batch("Browns", age=14, housing="Brooder 1", housing_until=day(28), leaves_on=day(90))
    pens = {"batch_id": batch.pk, "start": day(28), "end": None}
    stays.add(world.by, housing_id=world.housing["Pen 1"].pk, birds=30, pinned=True, **pens)
    stays.add(world.by, housing_id=world.housing["Brooder 2"].pk, birds=10, **pens)

    found = problem(world)
    [pin] = found.pins

    assert (pin.housing, pin.part) == (key(world, "Pen 1"), found.batches[0].parts[0].key)
    assert [part.birds for part in found.batches[0].parts] == [30, 10]


def test_a_housing_rests_after_birds_that_are_gone(world: World):
    batch = world.add_batch("Browns", age=60, birds=10, housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="sold", birds=10, day=day(-3))

    found = problem(world)

    assert (found.batches, found.left) == ((), (Left(key(world, "Brooder 1"), "chicken", day(-3)),))


def test_birds_that_leave_tomorrow_are_planned_no_more_but_leave_their_rest(world: World):
    world.add_batch("Browns", age=60, birds=10, housing="Brooder 1", leaves_on=day(1))

    found = problem(world)

    assert (found.batches, found.left) == ((), (Left(key(world, "Brooder 1"), "chicken", day(1)),))


def test_a_rest_that_is_over_is_left_out(world: World):
    batch = world.add_batch("Browns", age=60, birds=10, housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="sold", birds=10, day=day(-14))

    assert problem(world).left == ()


def test_turkeys_and_chickens_are_kept_apart_and_their_ground_rests_three_years(world: World):
    world.add_batch("Browns", housing="Brooder 1")
    world.add_batch("Poults", programme="turkey_large", housing="Brooder 2")

    assert problem(world).apart == (Apart("turkey", "chicken", False, 1095),)


@pytest.mark.parametrize(
    ("programme", "age"), [("chicken_layer_brown", 42), ("chicken_meat", 35), ("duck", 42)]
)
def test_nobody_is_out_of_doors_before_day_age_and_feathers(programme: str, age: int):
    assert query.earliest_outdoors(load.programmes()[programme], TODAY) == day(age)


def test_brooders_suit_until_four_weeks_after_the_heat_and_runs_from_the_day_out(world: World):
    world.add_batch("Browns", housing="Brooder 1")

    [batch] = problem(world).batches

    assert [(sorted(stage.kinds), stage.from_age, stage.to_age) for stage in batch.stages] == [
        (["brooder"], 0, 70),
        (["coop", "pen"], 0, None),
        (["paddock", "run"], 42, None),
    ]


def test_the_farms_move_days_are_the_welcome_ones(world: World):
    Farm.objects.filter(pk=world.farm.pk).update(move_weekdays=[2, 6])

    assert problem(world).move_weekdays == {2, 6}


def test_a_late_arrival_is_planned_for_months_after_it_comes(world: World):
    world.add_batch("Next year", hatch_day=day(390), age=0)

    assert problem(world).window.end == day(390 + 120)


def test_a_problem_reads_the_farm_in_a_steady_number_of_queries(world: World):
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            query.problem(world.farm, TODAY)
        return len(seen)

    world.add_batch("Browns", housing="Brooder 1")
    few = queries()
    for number in range(4):
        world.add_batch(f"More {number}", hatch_day=day(30 * number), housing="Brooder 2")

    assert (queries(), few) == (5, 5)


@pytest.mark.django_db
def test_the_demos_problem_can_be_read_back_from_its_json():
    planted = demo.plant(now=NOON)
    found = query.problem(planted.farm, planted.by.today)

    assert planning.from_json(found.to_json()) == found
    assert validate.problems(found) == ()
    assert {plan.batch for plan in found.adopted} == {batch.key for batch in found.batches}
    assert Stay.objects.filter(farm=planted.farm).count() == 25
