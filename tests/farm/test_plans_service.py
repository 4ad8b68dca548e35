"""Plans are proposed, worked out, read and put aside; nothing of the farm changes by it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.errors import NotAllowed, NotFound
from farm.models import Batch, Farm, Plan
from farm.planning import plan_check
from farm.planning import problem as planning
from farm.planning import solution as solutions
from farm.planning.window import Window
from farm.queries import occupancy
from farm.queries import plans as shown
from farm.services import counts, plans, solving
from tests.conftest import NOON, TODAY, World
from tests.farm.plan_cases import Ticking, adopted, crowded, day, lived, refused, solved


def test_a_proposal_changes_nothing_on_the_farm(world: World):
    crowded(world)
    before, version = lived(world), Farm.objects.get(pk=world.farm.pk).version

    plan = plans.propose(world.by, reason="  before the ducks come ")

    assert (lived(world), Farm.objects.get(pk=world.farm.pk).version) == (before, version)
    assert (plan.state, plan.kind, plan.reason) == ("waiting", "proposal", "before the ducks come")
    assert (plan.solution, plan.bill, plan.bound) == (None, None, None)


def test_a_plan_worked_out_has_no_fault_and_knows_its_bill(world: World):
    plan = solved(crowded(world))
    problem, found = planning.from_json(plan.problem), solutions.from_json(plan.solution)

    assert plan_check.faults(problem, found) == ()
    assert (plan.bill["shortfall"], plan.bill["total"]) == (0, found.cost)
    assert plan.before["shortfall"] > 0
    assert (plan.bound, plan.claim, plan.finished_at is None) == (found.bound, "", False)


def test_helpers_neither_propose_nor_adopt(world: World):
    helper = world.add_member("Ben", "helper")
    plan = solved(crowded(world))

    with pytest.raises(NotAllowed):
        plans.propose(helper)
    refused(world, plan, NotAllowed, by=helper)


def test_another_farms_plan_is_not_found(world: World, elsewhere: World):
    plan = solved(crowded(world))

    for act in (plans.cancel, plans.drop):
        with pytest.raises(NotFound):
            act(elsewhere.by, plan_id=plan.pk)
    with pytest.raises(NotFound):
        plans.adopt(elsewhere.by, plan_id=plan.pk, seen_version=None)
    with pytest.raises(NotFound):
        shown.by_code(elsewhere.farm.pk, plan.code)
    assert shown.by_code(world.farm.pk, plan.code) == plan


def test_the_plan_is_told_in_sentences_beside_what_is_planned_now(world: World):
    plan = solved(crowded(world))

    page = shown.shown(plan)

    assert page.changed_batches == {str(Batch.objects.get().pk)}
    assert str(page.moves[0]).startswith("Reds: ")
    assert {line.term for line in page.bill_difference} >= {"room", "moves"}
    [room] = [line for line in page.bill_difference if line.term == "room"]
    assert (room.before is None, room.after) == (False, None)


def test_the_plan_as_a_board_shows_what_the_board_shows_once_adopted(world: World):
    plan = solved(crowded(world))
    window = Window(TODAY + timedelta(days=1), 80)
    before = shown.sheet(shown.shown(plan), window, TODAY)

    adopted(world, plan)

    after = occupancy.for_farm(world.farm, window, TODAY)
    assert before.occupancy.birds.tolist() == after.occupancy.birds.tolist()
    assert before.breaches == after.breaches == ()
    assert before.stays.keys() == {part.stay for part in before.occupancy.parts}


def test_losses_make_one_proposal_which_later_losses_put_anew(world: World):
    crowded(world)
    batch = Batch.objects.get()
    first = plans.propose_after(farm_id=world.farm.pk, why="losses", now=NOON)
    again = plans.propose_after(farm_id=world.farm.pk, why="losses", now=NOON)
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=1, day=TODAY)
    anew = plans.propose_after(farm_id=world.farm.pk, why="losses", now=NOON)

    assert first == again == anew
    assert (Plan.objects.count(), anew.version, anew.problem_digest == first.problem_digest) == (1, 2, False)


def test_a_proposal_made_by_itself_that_helps_becomes_a_notice(world: World):
    plan = plans.propose_after(farm_id=crowded(world).farm.pk, why="housing", now=NOON)
    assert shown.notices(world.farm) == []

    assert solving.run(plan_id=plan.pk, now=Ticking(), iterations=40) == "ready"

    [notice] = shown.notices(world.farm)
    assert (notice, str(notice)) == (plan, "Housing was changed")


def test_a_proposal_made_by_itself_that_helps_nobody_is_dropped_without_a_word(world: World):
    world.add_batch("Reds", birds=10, age=14, housing="Brooder 1", leaves_on=day(20))
    plan = plans.propose_after(farm_id=world.farm.pk, why="losses", now=NOON)

    assert solving.run(plan_id=plan.pk, now=Ticking(), iterations=40) == "dropped"

    assert shown.notices(world.farm) == []


def test_a_farm_without_birds_gets_no_proposal_by_itself(world: World):
    assert plans.propose_after(farm_id=world.farm.pk, why="losses", now=NOON) is None
    assert Plan.objects.count() == 0
