"""What each job does when it runs, and how every one of them behaves."""

from datetime import UTC, datetime, timedelta

import pytest
from celery import current_app
from django.contrib.sessions.models import Session

from farm.models import Farm, Invitation, Member
from tasks import jobs, schedule

OURS = [
    "back_up",
    "clear_expired",
    "fetch_forecast",
    "fetch_forecasts",
    "forget_sent_requests",
    "propose_after",
    "prove_plan",
    "read_outer_calendar",
    "read_outer_calendars",
    "refresh_alerts",
    "refresh_calendars",
    "refresh_headroom",
    "refresh_odds",
    "refresh_rota",
    "remind_due",
    "remind_farm",
    "remove_farm",
    "remove_login",
    "retry_webhooks",
    "roll_over",
    "roll_over_all",
    "say_farewells",
    "send_waiting",
    "send_webhooks",
    "sign_of_life",
    "solve_plan",
    "take_up_plans",
    "write_alerts",
]
SWEPT = ("roll_over", "refresh_alerts", "refresh_rota", "refresh_calendars")
NOW = datetime(2026, 5, 9, 12, tzinfo=UTC)


def farm(name):
    return Farm.objects.create(name=name, time_zone="Europe/Berlin")


def test_the_registry_holds_exactly_our_jobs():
    assert sorted(name for name in current_app.tasks if not name.startswith("celery.")) == OURS


@pytest.mark.parametrize("name", OURS)
def test_every_job_expires_retries_with_back_off_and_is_acknowledged_after_the_work(name):
    job = current_app.tasks[name]
    assert (job.expires, job.max_retries, job.retry_backoff, job.acks_late) == (3600, 5, 2, True)
    assert job.autoretry_for == (Exception,)


def test_beat_starts_only_jobs_that_exist_and_that_need_no_id():
    started = [entry["task"] for entry in schedule.app.conf.beat_schedule.values()]
    assert sorted(started) == [
        "back_up",
        "clear_expired",
        "fetch_forecasts",
        "forget_sent_requests",
        "read_outer_calendars",
        "remind_due",
        "retry_webhooks",
        "roll_over_all",
        "say_farewells",
        "sign_of_life",
        "take_up_plans",
    ]
    assert set(started) <= set(current_app.tasks)


@pytest.mark.django_db
def test_the_sweep_sends_its_jobs_for_every_farm(sent):
    first, second = farm("Oak"), farm("Elm")
    assert jobs.roll_over_all() == 2
    assert sent() == [(name, {"farm_id": one.pk}) for one in (first, second) for name in SWEPT]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "job",
    [
        "roll_over",
        "refresh_calendars",
        "refresh_headroom",
        "refresh_alerts",
        "refresh_rota",
        "fetch_forecast",
        "write_alerts",
    ],
)
def test_a_farm_deleted_before_its_job_ran_is_no_error(job):
    assert current_app.tasks[job](farm_id=404) is None


@pytest.mark.django_db
@pytest.mark.parametrize("job", ["roll_over", "refresh_calendars"])
def test_a_job_run_twice_changes_nothing_the_second_time(job):
    oak = farm("Oak")
    current_app.tasks[job](farm_id=oak.pk)
    before = Farm.objects.values().get(pk=oak.pk)
    current_app.tasks[job](farm_id=oak.pk)
    assert Farm.objects.values().get(pk=oak.pk) == before


@pytest.mark.django_db
def test_only_what_has_expired_is_cleared(time_machine):
    time_machine.move_to(NOW)
    oak = farm("Oak")
    for name, left in (("over", -1), ("open", 1)):
        ends = NOW + timedelta(minutes=left)
        Session.objects.create(session_key=name, session_data="", expire_date=ends)
        member = Member.objects.create(farm=oak, name=name)
        Invitation.objects.create(farm=oak, member=member, token_sha256=name, created_at=NOW, expires_at=ends)
    jobs.clear_expired()
    assert list(Session.objects.values_list("session_key", flat=True)) == ["open"]
    assert list(Invitation.objects.values_list("token_sha256", flat=True)) == ["open"]
