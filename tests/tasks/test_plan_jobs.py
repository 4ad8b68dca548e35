"""The jobs of plans: each does its service's work once, whoever else runs, and what is left lying is taken up."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.models import Headroom, Plan
from farm.services import batches as batch_service
from farm.services import counts, housings, plans, solving
from tasks import jobs
from tests.conftest import NOON, TODAY, World
from tests.farm.plan_cases import Ticking, crowded, day

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def at_noon(time_machine):
    time_machine.move_to(NOON)
    return time_machine


def names(sent) -> list[str]:
    return [name for name, _ids in sent() if name != "refresh_calendars"]


def test_a_proposal_sends_its_job_with_its_number_alone(world: World, sent):
    plan = plans.propose(crowded(world).by)

    assert ("solve_plan", {"plan_id": plan.pk}) in sent()


def test_a_proposal_refused_sends_nothing(world: World, sent):
    helper = world.add_member("Ben", "helper")
    with pytest.raises(Exception, match="keeper"):
        plans.propose(helper)

    assert "solve_plan" not in names(sent)


def test_the_job_works_the_plan_out_and_again_does_nothing(world: World, spool, at_noon):
    plan = plans.propose(crowded(world).by, iterations=20)
    jobs.solve_plan(plan_id=plan.pk)
    [first] = Plan.objects.values()

    jobs.solve_plan(plan_id=plan.pk)

    assert (first["state"], list(Plan.objects.values())) == ("ready", [first])


def test_a_plan_that_is_gone_is_no_error(spool, db):
    assert jobs.solve_plan(plan_id=404) is None


def test_one_plan_of_a_farm_is_worked_out_at_a_time_and_the_next_is_sent_after(world: World, sent):
    first, second = plans.propose(crowded(world).by, iterations=20), plans.propose(world.by, iterations=20)
    Plan.objects.filter(pk=first.pk).update(state="solving", claim="other", beat_at=NOON)

    assert solving.run(plan_id=second.pk, now=Ticking()) == "waiting"

    Plan.objects.filter(pk=first.pk).update(state="waiting", claim="")
    before = len(sent())
    assert solving.run(plan_id=first.pk, now=Ticking()) == "ready"
    assert sent()[before:] == [("solve_plan", {"plan_id": second.pk})]


def test_a_run_that_lost_its_plan_writes_nothing_more(world: World, spool):
    plan = plans.propose(crowded(world).by, iterations=200)
    clock = Ticking()

    def dropping():
        if Plan.objects.filter(pk=plan.pk, iteration__gt=0).exists():
            plans.drop(world.by, plan_id=plan.pk)
        return clock()

    assert solving.run(plan_id=plan.pk, now=dropping) == "dropped"
    [row] = Plan.objects.all()
    assert (row.claim, row.iteration < 200) == ("", True)


def test_a_cancelled_run_keeps_its_best_plan(world: World, spool):
    plan = plans.propose(crowded(world).by, iterations=100_000)
    clock = Ticking()

    def cancelling():
        if Plan.objects.filter(pk=plan.pk, iteration__gt=0).exists():
            plans.cancel(world.by, plan_id=plan.pk)
        return clock()

    assert solving.run(plan_id=plan.pk, now=cancelling) == "ready"
    [row] = Plan.objects.all()
    assert (row.solution["cancelled"], row.bill["total"] == row.solution["cost"]) == (True, True)


def test_a_waiting_plan_cancelled_is_dropped(world: World, spool):
    plan = plans.propose(crowded(world).by)

    assert plans.cancel(world.by, plan_id=plan.pk).state == "dropped"
    assert solving.run(plan_id=plan.pk, now=Ticking()) == "dropped"


def test_the_same_plan_comes_out_however_slow_the_clock_of_the_worker_is(world: World, spool):
    crowded(world)
    found = []
    for pace in (1, 30):
        plan = plans.propose(world.by, iterations=30)
        clock = Ticking()
        solving.run(plan_id=plan.pk, now=lambda clock=clock, pace=pace: clock() + timedelta(seconds=pace))
        found.append(Plan.objects.get(pk=plan.pk).solution["digest"])

    assert found[0] == found[1]


def test_a_page_can_work_a_waiting_plan_out_itself(world: World, spool):
    plan = plans.propose(crowded(world).by)

    found = plans.solve_now(world.by, plan_id=plan.pk, now=Ticking(), iterations=5)

    assert (found.state, found.iteration <= 5) == ("ready", True)


def test_plans_left_lying_are_sent_again_and_fresh_ones_are_not(world: World, sent, at_noon):
    old = plans.propose(crowded(world).by)
    Plan.objects.filter(pk=old.pk).update(made_at=NOON - timedelta(seconds=31))
    plans.propose(world.by)
    before = len(sent())

    jobs.take_up_plans()

    assert sent()[before:] == [("solve_plan", {"plan_id": old.pk})]


def test_a_run_without_a_sign_of_life_is_taken_over(world: World, spool):
    plan = plans.propose(crowded(world).by, iterations=10)
    Plan.objects.filter(pk=plan.pk).update(
        state="solving", claim="dead", beat_at=NOON - timedelta(seconds=31), attempts=1
    )
    plan.refresh_from_db()

    assert solving.is_cold(plan, NOON)
    assert solving.run(plan_id=plan.pk, now=Ticking()) == "ready"
    assert Plan.objects.get().attempts == 2


def test_work_broken_off_too_often_without_any_plan_fails_and_says_so(world: World, spool):
    plan = plans.propose(crowded(world).by)
    Plan.objects.filter(pk=plan.pk).update(attempts=3)

    assert solving.run(plan_id=plan.pk, now=Ticking()) == "failed"
    assert Plan.objects.get().error == "The work on this plan was broken off 3 times."


def test_a_plan_an_older_program_wrote_fails_with_what_it_cannot_read(world: World, spool):
    plan = plans.propose(crowded(world).by)
    Plan.objects.filter(pk=plan.pk).update(problem={"start": "2026-05-01"})

    assert solving.run(plan_id=plan.pk, now=Ticking()) == "failed"
    assert "housings: is missing" in Plan.objects.get().error


def test_losses_arrivals_and_housing_changed_ask_for_a_proposal(world: World, sent):
    crowded(world)
    reds = world.add_batch("Later", age=0, hatch_day=day(9), birds=5)
    before = len(sent())
    counts.add(world.by, batch_id=reds.pk - 1, kind="died", birds=1, day=TODAY)
    batch_service.change(
        world.by, batch_id=reds.pk, expected_version=None, hatch_day=day(12), arrived_on=day(12)
    )
    housings.change(world.by, housing_id=world.housing["Pen 1"].pk, expected_version=None, area_m2=5.0)
    housings.change(world.by, housing_id=world.housing["Pen 1"].pk, expected_version=None, notes="new roof")

    assert [ids["why"] for name, ids in sent()[before:] if name == "propose_after"] == [
        "losses",
        "arrival",
        "housing",
    ]


def test_the_job_proposes_once_for_many_losses(world: World, sent, at_noon):
    crowded(world)
    for _loss in range(3):
        jobs.propose_after(farm_id=world.farm.pk, why="losses")

    assert Plan.objects.filter(automatic=True).count() == 1
    assert names(sent).count("solve_plan") == 1
    assert jobs.propose_after(farm_id=404, why="losses") is None


def test_headroom_is_worked_out_and_goes_on_until_every_day_is(world: World, sent, at_noon):
    world.add_batch("Browns", birds=4, age=14, housing="Brooder 1", leaves_on=day(20))
    jobs.refresh_headroom(farm_id=world.farm.pk)

    assert Headroom.objects.count() == 365
    assert Headroom.objects.filter(replanned_birds__isnull=False).count() == 12
    assert names(sent)[-1] == "refresh_headroom"
