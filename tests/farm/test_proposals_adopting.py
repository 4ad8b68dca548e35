"""Adopting what to set next: egg sets and intakes with all that follows, in one write and undone in one step."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest

from calendars.entries import entries
from farm.models import Batch
from farm.planning.machines import conflicts
from farm.planning.window import Window
from farm.queries import agenda, allotments, hatching, occupancy, ordering, soundness
from farm.services import history, holds, proposals
from tests.calendars.cases import reader
from tests.conftest import NOON, TODAY, World
from tests.farm.egg_world import refused
from tests.farm.judging import everything
from tests.farm.proposals_world import (
    Edit,
    adopt,
    adopt_refused,
    cabinet,
    chicks,
    content,
    day,
    line,
    made,
    on,
    propose,
    seller,
    take,
)

# Adopting


def test_an_adopted_set_has_its_expected_batch_with_room_until_its_birds_are_handed_over(world: World):
    cabinet(world)
    chicks(world)
    proposal = propose(world)
    (one,) = content(proposal).proposal.sets

    adopt(world, proposal)

    ((egg_set,), intakes) = made(world.farm)
    assert (egg_set.eggs, egg_set.set_on, intakes) == (one.eggs, one.set_on, [])
    batch = egg_set.batch
    assert (batch.expected, batch.hatch_day, batch.leaves_on) == (True, one.hatch_day, one.leaves_on)
    (stay,) = batch.stays.all()
    assert (stay.start, stay.end, stay.birds) == (
        batch.arrived_on,
        batch.leaves_on,
        batch.count_entries.get().birds,
    )
    assert stay.housing.heated
    proposal.refresh_from_db()
    assert proposal.adoption.verb == "adopt proposal"
    assert soundness.problems(world.farm) == []


def test_once_adopted_the_orders_are_as_sure_as_asked_and_nothing_more_is_proposed(world: World):
    cabinet(world)
    order = chicks(world)
    adopt(world, propose(world))

    assert allotments.for_farm(world.farm, TODAY).odds(order.lines.get().pk).chance >= 0.9
    again = content(propose(world))
    assert (again.proposal.batches, again.proposal.lines, again.covered) == (0, {}, 1)


def test_chicks_are_bought_of_the_sex_ordered_where_no_eggs_can_be_set(world: World):
    shop = seller(world, sexed=True)
    chicks(world, sex="female")
    proposal = propose(world)
    (one,) = content(proposal).proposal.intakes

    adopt(world, proposal)

    (sets, (intake,)) = made(world.farm)
    assert sets == []
    assert (intake.supplier, intake.ordered, intake.due_on, intake.sex) == (
        shop,
        one.birds,
        one.day,
        "sexed_female",
    )
    assert (intake.batch.expected, intake.batch.leaves_on) == (True, one.leaves_on)
    assert intake.batch.stays.get().housing.heated
    assert content(propose(world)).proposal.lines == {}


def test_birds_that_outgrow_the_brooder_have_every_move_planned(world: World):
    cabinet(world)
    chicks(world, 120, 124, age_from_days=90, age_to_days=94, birds=10)
    proposal = propose(world)
    (one,) = content(proposal).proposal.sets
    assert len(one.stays) > 1

    adopt(world, proposal)

    ((egg_set,), _none) = made(world.farm)
    written = [(str(row.housing_id), row.start, row.end) for row in egg_set.batch.stays.order_by("start")]
    assert written == [(stay.housing, stay.start, stay.end) for stay in one.stays]


def test_what_is_adopted_shows_in_the_agenda_on_the_board_and_in_calendars(world: World):
    cabinet(world)
    chicks(world)
    adopt(world, propose(world))
    ((egg_set,), _none) = made(world.farm)
    window = Window(TODAY, 60)

    items = agenda.for_farm(world.farm, window, TODAY)
    assert any(item.due == egg_set.set_on and str(egg_set.pk) in item.source for item in items)
    sheet = occupancy.for_farm(world.farm, window, TODAY)
    assert egg_set.batch.pk in {stay.batch_id for stay in sheet.stays.values()}
    assert sheet.breaches == ()
    everyone = reader()
    titles = {(entry.day, entry.summary) for entry in entries(items, {}, everyone, NOON)}
    assert any(day == egg_set.set_on and "E1" in title for day, title in titles)
    assert any(day == egg_set.batch.hatch_day and "E1" in title for day, title in titles)


def test_undo_takes_everything_back_in_one_step(world: World):
    cabinet(world)
    seller(world, types=["quail_layer"])
    chicks(world)
    chicks(world, programme="quail_layer", customer="Another")
    proposal = propose(world)
    before = everything()
    entry = proposals.adopt(world.by, code=proposal.code)
    assert Batch.objects.count() == 2

    history.undo(world.by, entry_id=entry.pk)

    after = everything()
    for name in ("Batch", "CountEntry", "EggSet", "Intake", "Stay", "Machine", "Order", "OrderLine"):
        assert after[name] == before[name], name
    assert soundness.problems(world.farm) == []
    proposal.refresh_from_db()
    assert proposal.adoption.undone_by.verb == "undo"


# Edits


def test_eggs_and_days_may_be_changed_and_single_ones_left_out(world: World):
    cabinet(world)
    chicks(world)
    chicks(world, 60, 62)
    proposal = propose(world)
    first, second = content(proposal).proposal.sets
    sooner = first.set_on - timedelta(days=1)

    adopt(world, proposal, set_1=Edit(count=first.eggs + 5, day=sooner), set_2=Edit(left_out=True, count=-3))

    ((egg_set,), _none) = made(world.farm)
    assert (egg_set.eggs, egg_set.set_on) == (first.eggs + 5, sooner)
    batch = egg_set.batch
    assert batch.arrived_on == first.hatch_day - timedelta(days=1)
    assert batch.leaves_on == batch.arrived_on + timedelta(days=1)  # handed over as soon as they may be
    stay = batch.stays.get()
    assert (stay.start, stay.end, stay.birds) == (
        batch.arrived_on,
        batch.leaves_on,
        batch.count_entries.get().birds,
    )
    assert second.set_on > egg_set.set_on


def test_moves_are_carried_along_with_another_day(world: World):
    cabinet(world)
    chicks(world, 120, 124, age_from_days=90, age_to_days=94, birds=10)
    proposal = propose(world)
    (one,) = content(proposal).proposal.sets

    adopt(world, proposal, set_1=Edit(day=one.set_on - timedelta(days=2)))

    ((egg_set,), _none) = made(world.farm)
    first, second = egg_set.batch.stays.order_by("start")
    assert first.start == egg_set.batch.arrived_on == one.hatch_day - timedelta(days=2)
    assert first.end == second.start == one.stays[0].end - timedelta(days=2)
    assert second.end == egg_set.batch.leaves_on


def test_what_is_refused_is_said_at_the_fields_of_all_and_nothing_is_written(world: World):
    cabinet(world)
    seller(world, types=["quail_layer"])
    chicks(world)
    chicks(world, 60, 62)
    chicks(world, programme="duck", customer="Ducks")
    chicks(world, 40, 44, programme="quail_layer", customer="Quail")
    proposal = propose(world)
    made_up = content(proposal).proposal
    assert (len(made_up.sets), len(made_up.intakes)) == (2, 1)

    keys = [one.key for one in (*made_up.sets, *made_up.intakes)]
    changed = Edit(count=600), Edit(day=day(10)), Edit(count=0, day=day(40))
    edits = dict(zip(keys, changed, strict=True))
    said = refused(proposals.adopt, world.by, code=proposal.code, edits=edits)

    assert said["sets-0-eggs"] == ["Cabinet 1 is too full by 540 eggs from 12 May to 3 June, most on 12 May"]
    assert said["sets-1-day"] == [
        "Then the birds are not of the age that was ordered. Choose a day from 6 June 2026 to 11 June 2026."
    ]
    assert said["intakes-0-birds"] == ["Enter a number from 1 to 5000."]
    assert set(said) == {"sets-0-eggs", "sets-1-day", "intakes-0-birds"}


def test_a_day_that_has_passed_is_refused_at_its_field(world: World):
    cabinet(world)
    chicks(world, 21, 22)
    proposal = propose(world)
    (one,) = content(proposal).proposal.sets
    late = on(world, (one.set_on - TODAY).days + 1)

    said = refused(proposals.adopt, late, code=proposal.code, edits={})

    assert said == {"sets-0-day": ["This day has passed. Choose another, or propose again."]}


def test_with_everything_left_out_there_is_nothing_to_adopt(world: World):
    cabinet(world)
    chicks(world)
    said = adopt_refused(world, propose(world), set_1=Edit(left_out=True))
    assert said == {"": ["Everything is left out. Keep one at least, or drop the proposal."]}


# Anything


@pytest.mark.parametrize("seed", range(5))
def test_whatever_is_ordered_what_a_proposal_says_is_met_is_met_once_adopted(world: World, seed: int):
    chance, sexes = random.Random(seed), "female" if seed % 2 else "any"
    cabinet(world)
    cabinet(world, "Cabinet 2", medium_eggs=90, species=["chicken"])
    seller(world, types=["chicken_layer_brown", "duck"], weekdays=[1, 3], sexed=bool(seed % 2))
    batch = world.add_batch("Reds", birds=30, age=7, housing="Brooder 2")
    holds.add(world.by, batch_id=batch.pk, birds=5)
    for number in range(7):
        age = chance.choice((0, 0, 7, 21))
        first = chance.randrange(10, 70)
        asked = {
            "programme": chance.choice(("chicken_layer_brown", "chicken_layer_brown", "duck")),
            "birds": chance.randrange(2, 18),
            "sex": sexes,
            "age_from_days": age,
            "age_to_days": age + 5,
        }
        take(world, line(from_on=day(first), to_on=day(first + 4), **asked), customer=f"Customer {number}")
    proposal = propose(world)
    said = content(proposal).proposal.lines
    promised = [int(key) for key, answer in said.items() if not answer.short_birds]
    assert promised

    adopt(world, proposal)

    standing = allotments.for_farm(world.farm, TODAY)
    weak = {key: odds.chance for key in promised if (odds := standing.odds(key)) and odds.chance < 0.9 - 1e-9}
    assert weak == {}
    assert conflicts(*hatching.machine_records(world.farm)) == ()
    assert soundness.problems(world.farm) == []
    left = {line.key for line in ordering.question(world.farm, TODAY).need.wanted}
    assert left == {key for key, answer in said.items() if answer.short_birds}
