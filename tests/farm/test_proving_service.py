"""A keeper has it proved that nothing is better than a plan, or gets what is better."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Plan
from farm.planning import plan_check
from farm.planning import problem as planning
from farm.planning import solution as solutions
from farm.planning.solution import Solution
from farm.services import plans, proving, solving
from tests.conftest import NOON, World
from tests.farm.plan_cases import crowded, day, solved


def gaping(plan: Plan) -> Plan:
    """The plan with nothing known of how good it may be."""
    open_ = replace(solutions.from_json(plan.solution), bound=0)
    Plan.objects.filter(pk=plan.pk).update(**solving.whole(planning.from_json(plan.problem), open_))
    plan.refresh_from_db()
    return plan


def stored(plan: Plan) -> Solution:
    plan.refresh_from_db()
    return solutions.from_json(plan.solution)


def later(world: World, minutes: int):
    return replace(world.by, now=NOON + timedelta(minutes=minutes))


@pytest.fixture
def plan(world: World) -> Plan:
    return gaping(solved(crowded(world)))


@pytest.fixture
def poor(world: World) -> Plan:
    """A ready plan that leaves the crowd where it is, though there is room elsewhere."""
    made = plans.propose(crowded(world).by)
    problem = planning.from_json(made.problem)
    cost = made.before["total"]
    Plan.objects.filter(pk=made.pk).update(
        state="ready", **solving.whole(problem, Solution(problem.digest, problem.adopted, cost, 0))
    )
    made.refresh_from_db()
    return made


def test_the_best_plan_is_proved_and_stays_what_it_is(world: World, plan: Plan):
    before, version = stored(plan), plan.version
    proving.ask(world.by, plan_id=plan.pk)

    assert proving.run(plan_id=plan.pk) == "proved"

    found = stored(plan)
    assert (found.plans, found.iterations, plan.version) == (before.plans, before.iterations, version)
    assert (found.bound, plan.bound, plan.bill["total"]) == (found.cost, found.cost, before.cost)


def test_a_better_plan_replaces_one_that_is_not_the_best(world: World, poor: Plan):
    before, version = stored(poor), poor.version
    proving.ask(world.by, plan_id=poor.pk)

    assert proving.run(plan_id=poor.pk) == "proved"

    found = stored(poor)
    assert found.cost == found.bound == poor.bill["total"] == poor.bound < before.cost
    assert plan_check.faults(planning.from_json(poor.problem), found) == ()
    assert poor.version == version + 1


def test_run_twice_is_once(world: World, poor: Plan):
    proving.ask(world.by, plan_id=poor.pk)
    proving.run(plan_id=poor.pk)
    first = Plan.objects.values().get(pk=poor.pk)

    assert proving.run(plan_id=poor.pk) == ""
    assert Plan.objects.values().get(pk=poor.pk) == first


def test_a_proved_plan_is_not_proved_again(world: World, plan: Plan):
    proving.ask(world.by, plan_id=plan.pk)
    proving.run(plan_id=plan.pk)

    assert proving.ask(later(world, 60), plan_id=plan.pk).proof == "proved"


def test_nobody_asked_so_nothing_is_proved(plan: Plan):
    assert proving.run(plan_id=plan.pk) == ""
    assert (stored(plan).bound, plan.proof) == (0, "")


def test_a_plan_that_is_gone_is_no_error(db):
    assert proving.run(plan_id=404) == ""


def test_a_plan_put_aside_while_it_waited_is_left_alone(world: World, plan: Plan):
    proving.ask(world.by, plan_id=plan.pk)
    plans.drop(world.by, plan_id=plan.pk)

    assert proving.run(plan_id=plan.pk) == ""
    assert stored(plan).bound == 0


def test_asked_again_within_five_minutes_it_is_the_same_question_and_later_a_new_one(
    world: World, plan: Plan
):
    for minutes, asked in ((0, 0), (4, 0), (5, 5)):
        found = proving.ask(later(world, minutes), plan_id=plan.pk)
        assert (found.proof, found.proof_asked_at) == ("asked", NOON + timedelta(minutes=asked))


def test_a_batch_that_could_be_split_otherwise_leaves_the_bound_alone(world: World):
    world.add_batch("Greens", birds=30, age=-10, leaves_on=day(70))
    plan = gaping(solved(world))
    proving.ask(world.by, plan_id=plan.pk)

    assert proving.run(plan_id=plan.pk) == "parts"
    assert (stored(plan).bound, plan.bound) == (0, 0)


def test_a_plan_an_older_program_wrote_is_left_unproved(world: World, plan: Plan):
    proving.ask(world.by, plan_id=plan.pk)
    Plan.objects.filter(pk=plan.pk).update(problem=plan.problem | {"version": 999})

    assert proving.run(plan_id=plan.pk) == "open"
    assert (stored(plan).bound, plan.proof) == (0, "open")


def test_one_not_proved_can_be_asked_about_again_at_once(world: World, plan: Plan):
    Plan.objects.filter(pk=plan.pk).update(proof="open", proof_asked_at=NOON)

    assert proving.ask(world.by, plan_id=plan.pk).proof == "asked"


def test_helpers_may_not_ask(world: World, plan: Plan):
    with pytest.raises(NotAllowed):
        proving.ask(world.add_member("Ben", "helper"), plan_id=plan.pk)


def test_another_farms_plan_is_not_found(elsewhere: World, plan: Plan):
    with pytest.raises(NotFound):
        proving.ask(elsewhere.by, plan_id=plan.pk)


def test_a_plan_that_is_not_ready_is_refused(world: World):
    waiting = plans.propose(crowded(world).by)

    with pytest.raises(BadInput, match="ready"):
        proving.ask(world.by, plan_id=waiting.pk)


@pytest.mark.parametrize(("batches", "fits"), [(20, True), (21, False)])
def test_twenty_batches_are_the_most(world: World, plan: Plan, batches: int, fits: bool):
    problem = planning.from_json(plan.problem)
    many = [replace(problem.batches[0], key=str(9000 + n)) for n in range(batches)]
    crowd = replace(problem, batches=tuple(many))
    Plan.objects.filter(pk=plan.pk).update(problem=crowd.to_json())
    plan.refresh_from_db()

    assert proving.can_be_asked(plan, crowd) is fits
    if fits:
        assert proving.ask(world.by, plan_id=plan.pk).proof == "asked"
    else:
        with pytest.raises(BadInput, match="at most 20"):
            proving.ask(world.by, plan_id=plan.pk)


def test_a_new_problem_forgets_the_proof_of_the_old_one(world: World):
    crowded(world)
    made = plans.propose_after(farm_id=world.farm.pk, why="losses", now=NOON)
    Plan.objects.filter(pk=made.pk).update(proof="proved", proof_asked_at=NOON)
    world.add_batch("Greens", birds=30, housing="Brooder 1", leaves_on=day(70))

    again = plans.propose_after(farm_id=world.farm.pk, why="housing", now=NOON)

    assert (again.pk, again.proof, again.proof_asked_at) == (made.pk, "", None)
