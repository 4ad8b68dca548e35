"""The first place of a new batch is judged by every rule of stays, each told at the field it was typed in."""

from __future__ import annotations

from typing import Any

from farm.models import Stay
from farm.services import batches
from tests.conftest import World
from tests.farm.judging import day, refused


def start(world: World, housing: str, **fields: Any):
    place = world.housing[housing].pk
    fields = {"name": "New", "programme": "chicken_layer_brown", "hatch_day": day(-2), "birds": 40} | fields
    return batches.start(world.by, new=batches.NewBatch(housing_id=place, **fields))


def said(world: World, housing: str, **fields: Any) -> dict[str, list[str]]:
    return refused(lambda: start(world, housing, **fields))


def test_chicks_without_heat_need_a_written_reason_which_is_kept(world: World):
    text = "Pen 1 has no heat, and these birds need it until 10 June 2026. Write the reason if you mean it."
    assert said(world, "Pen 1") == {"override_reason": [text]}

    start(world, "Pen 1", override_reason="heat plate in it")
    assert Stay.objects.get().override_reason == "heat plate in it"


def test_a_housing_for_other_species_is_told_at_the_place(world: World):
    world.add_housing("Duck house", species=["duck"])

    assert said(world, "Duck house") == {"housing_id": ["Duck house is not for this species."]}


def test_a_housing_not_yet_in_use_is_told_at_the_arrival(world: World):
    world.add_housing("Summer", in_service_from=day(3))

    assert said(world, "Summer") == {"arrived_on": ["Summer is in use from 4 May 2026 only."]}


def test_a_housing_that_goes_out_of_use_is_told_where_the_end_was_typed(world: World):
    world.add_housing("Old", in_service_to=day(10))
    text = "Old is in use until 11 May 2026 only. End the stay by then."

    assert said(world, "Old", housing_until=day(11)) == {"housing_until": [text]}
    assert said(world, "Old", leaves_on=day(11)) == {"leaves_on": [text]}
    assert start(world, "Old", housing_until=day(10)).stays.get().end == day(10)


def test_a_place_left_on_the_day_of_arrival_is_told_at_its_field(world: World):
    assert said(world, "Brooder 1", housing_until=day(-2)) == {
        "housing_until": ["A stay must end after it starts."]
    }


def test_a_one_batch_housing_takes_no_second(world: World):
    world.add_housing("Single", one_batch=True)
    start(world, "Single", housing_until=day(5))

    assert said(world, "Single", name="Later", hatch_day=day(4)) == {
        "housing_id": ["Single takes one batch at a time, and New is there on 5 May 2026."]
    }
    assert start(world, "Single", name="Later", hatch_day=day(5)).stays.get().start == day(5)


def test_species_that_must_not_share_are_kept_apart(world: World):
    start(world, "Brooder 1")

    told = said(world, "Brooder 1", name="Poults", programme="turkey_large")["housing_id"]
    assert told[0].startswith("The birds of New are in Brooder 1 on 29 April 2026.")


def test_a_stay_may_end_after_the_birds_are_expected_to_leave_but_not_a_year_later(world: World):
    assert said(world, "Brooder 1", housing_until=day(401)) == {
        "housing_until": ["6 June 2027 is more than a year away from today. Check the year."]
    }
