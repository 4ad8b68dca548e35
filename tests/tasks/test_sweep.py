"""The hourly sweep sends jobs to farms that something may have happened to, and costs a look for the others."""

from __future__ import annotations

from datetime import timedelta

import pytest
from celery import current_app
from django.core.cache import cache

from farm.models import Alert, Farm, Forecast
from farm.services import upkeep
from tasks import jobs, swept
from tests.conftest import NOON, TODAY, World, make_world

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _at_noon(time_machine):
    cache.clear()
    time_machine.move_to(NOON, tick=False)
    yield
    cache.clear()


def work(sent):
    """Do what waits, as a worker would, until nothing does; return the names of the sweep's own jobs."""
    done = []
    for name, kwargs in sent():
        if name in swept.JOBS:
            current_app.tasks[name].apply(kwargs=kwargs)
            done.append((name, kwargs["farm_id"]))
    return done


@pytest.fixture
def settled(world: World, sent, spool):
    """Hollow Farm, whose jobs are all done and whose queue is empty."""
    for _once in range(3):  # a job that changes the farm makes the others due once more
        jobs.roll_over_all()
        work(sent)
        empty(spool)
    assert jobs.roll_over_all() == 0
    return world


def empty(spool):
    for path in (spool / "messages").glob("*.msg"):
        path.unlink()


def test_a_farm_that_is_up_to_date_is_sent_nothing(settled, sent):
    assert (jobs.roll_over_all(), sent()) == (0, [])


def test_whatever_is_written_to_a_farm_makes_all_its_jobs_due_and_no_other_farms(settled, sent, spool):
    other = make_world("bea@example.org", "Far Farm")
    for _once in range(3):
        jobs.roll_over_all()
        work(sent)
        empty(spool)
    settled.add_housing("Pen 2", kind="pen")
    empty(spool)
    assert jobs.roll_over_all() == 1
    assert sorted(sent(), key=str) == [(name, {"farm_id": settled.farm.pk}) for name in sorted(swept.JOBS)]
    assert other.farm.pk != settled.farm.pk


def test_a_new_day_at_the_farm_makes_its_jobs_due_and_the_days_of_others_do_not(settled, sent, time_machine):
    time_machine.move_to(NOON + timedelta(hours=11, minutes=59), tick=False)  # 23:59 in Berlin
    assert jobs.roll_over_all() == 0
    time_machine.move_to(NOON + timedelta(hours=12, minutes=1), tick=False)
    assert (jobs.roll_over_all(), len(sent())) == (1, 4)


def test_a_new_forecast_makes_its_jobs_due(settled):
    Forecast.objects.create(farm=settled.farm, fetched_at=NOON)
    assert jobs.roll_over_all() == 1


def test_a_farm_with_a_letter_that_waits_is_due_until_it_is_written(settled):
    alert = Alert.objects.create(farm=settled.farm, kind="losses", key="x", day=TODAY, raised_at=NOON)
    assert [jobs.roll_over_all(), jobs.roll_over_all()] == [1, 1]
    Alert.objects.filter(pk=alert.pk).update(told_at=NOON)
    assert jobs.roll_over_all() == 0


def test_a_job_that_failed_or_was_lost_is_sent_again_and_the_others_are_not(
    world: World, sent, spool, monkeypatch
):
    def breaks(**_more):
        raise RuntimeError("no disk")

    jobs.roll_over_all()
    monkeypatch.setattr(upkeep, "roll_over", breaks)
    waiting = [
        (name, ids) for name, ids in sent() if name in ("roll_over", "refresh_rota", "refresh_calendars")
    ]
    for name, ids in waiting:  # refresh_alerts is lost
        current_app.tasks[name].apply(kwargs=ids, retries=5, throw=False)
    empty(spool)
    assert jobs.roll_over_all() == 1
    assert sorted(name for name, _ids in sent()) == ["refresh_alerts", "roll_over"]


def test_what_happened_while_a_job_ran_makes_it_due_again(world: World, spool, monkeypatch):
    real = upkeep.roll_over

    def while_somebody_writes(**asked):
        Farm.objects.filter(pk=world.farm.pk).update(version=world.farm.version + 1000)
        return real(**asked)

    monkeypatch.setattr(upkeep, "roll_over", while_somebody_writes)
    current_app.tasks["roll_over"].apply(kwargs={"farm_id": world.farm.pk})
    assert dict(swept.due())[world.farm.pk] == list(swept.JOBS)


def test_notes_that_were_lost_cost_jobs_and_nothing_else(settled, sent):
    cache.clear()
    assert (jobs.roll_over_all(), len(sent())) == (1, 4)


def test_a_farm_in_a_zone_nobody_knows_stops_no_other_farm(settled, sent):
    odd = Farm.objects.create(name="Odd", time_zone="Nowhere/At_All")
    assert jobs.roll_over_all() == 1
    assert {ids["farm_id"] for _name, ids in sent()} == {odd.pk}


@pytest.mark.parametrize("farms, pages", [(40, 1), (1100, 3)])
def test_the_look_costs_three_queries_for_five_hundred_farms(spool, django_assert_num_queries, farms, pages):
    Farm.objects.bulk_create(
        [Farm(name=f"Farm {number}", time_zone="Europe/Berlin") for number in range(farms)]
    )
    with django_assert_num_queries(3 * pages):
        assert sum(1 for _farm in swept.due()) == farms


def test_a_job_somebody_waits_for_does_not_stand_behind_the_sweep(world: World, spool):
    Farm.objects.bulk_create([Farm(name=f"Farm {number}", time_zone="Europe/Berlin") for number in range(20)])
    jobs.roll_over_all()
    current_app.tasks["remind_due"].delay()
    took = []
    with current_app.connection_for_read() as link:
        queues = [queue(link.default_channel) for queue in current_app.amqp.queues.consume_from.values()]

        def take(_body, message):
            took.append(message.headers["task"])
            message.ack()

        with link.Consumer(queues, callbacks=[take]):
            while len(took) < 4 * 21 + 1:
                link.drain_events(timeout=5)
    assert took.index("remind_due") <= 2
    assert sorted(set(took)) == sorted({*swept.JOBS, "remind_due"})
