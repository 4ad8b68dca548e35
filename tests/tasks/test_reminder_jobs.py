"""The jobs of reminders: the sweep finds what is due and what was left lying, each job does its part once."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core import mail
from django.db import transaction

from farm.models import Delivery, Notice, ReminderClock
from farm.services.reminders import clock
from tasks import reminders, schedule
from tests.conftest import NOON, World
from tests.farm.reminders_world import HOUR, MINUTE, at, channel, chicks, told
from tests.farm.test_reminders_sending import message

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def half_past_six(world: World, time_machine, spool):
    """Half past six, when Ada wants to hear of the morning round; looked at an hour before."""
    chicks(world)
    told(world.by, morning_at="06:30")
    time_machine.move_to(at("05:30"), tick=False)
    reminders.remind_farm(farm_id=world.farm.pk)
    time_machine.move_to(at("06:30"), tick=False)
    return world


def names(sent, before=()):
    """Return the jobs of reminders that wait in the broker, without those that did before."""
    found = [(name, ids) for name, ids in sent() if name in ("remind_farm", "send_waiting")]
    for job in before:
        found.remove(job)
    return found


def test_the_sweep_sends_one_job_for_each_farm_that_is_due(half_past_six, elsewhere, sent):
    before = names(sent)
    assert reminders.remind_due() == 1
    assert names(sent, before) == [("remind_farm", {"farm_id": half_past_six.farm.pk})]


def test_a_farm_looked_at_has_its_messages_sent_after_the_commit(half_past_six, sent):
    before = names(sent)
    reminders.remind_farm(farm_id=half_past_six.farm.pk)
    assert names(sent, before) == [("send_waiting", {"farm_id": half_past_six.farm.pk})]
    reminders.send_waiting(farm_id=half_past_six.farm.pk)
    assert len(mail.outbox) == 1


def test_a_look_that_fails_half_way_leaves_nothing_and_is_made_good_by_the_next(
    half_past_six, monkeypatch, sent
):
    def breaks(*_given):
        raise RuntimeError("power cut")

    before = names(sent)
    with monkeypatch.context() as patched:
        patched.setattr(clock, "set_next", breaks)
        with pytest.raises(RuntimeError):
            reminders.remind_farm.run(farm_id=half_past_six.farm.pk)
    assert (Notice.objects.count(), names(sent, before)) == (0, [])
    assert clock.to_look_at(at("06:31")) == [half_past_six.farm.pk]
    reminders.remind_farm(farm_id=half_past_six.farm.pk)
    assert Notice.objects.count() == 1


def test_a_lost_job_is_made_good_by_the_next_sweep(half_past_six, sent, time_machine):
    with transaction.atomic():
        reminders.remind_farm(farm_id=half_past_six.farm.pk)
        transaction.get_connection().run_on_commit.clear()  # the broker lost it
    time_machine.move_to(at("06:31"), tick=False)
    before = names(sent)
    assert reminders.remind_due() == 1
    assert names(sent, before) == [("send_waiting", {"farm_id": half_past_six.farm.pk})]


def test_the_sweep_takes_up_what_a_lost_worker_had(world, sent, time_machine):
    row = message(world)
    Delivery.objects.filter(pk=row.pk).update(state="sending", claimed_at=NOON)
    ReminderClock.objects.update_or_create(farm=world.farm, defaults={"next_at": NOON + HOUR})
    for minutes, found in ((10, 0), (11, 1)):
        time_machine.move_to(NOON + minutes * MINUTE, tick=False)
        assert reminders.remind_due() == found


def test_a_job_of_the_sweep_is_not_worth_doing_long_after(half_past_six, spool):
    import json

    reminders.remind_due()
    (path,) = [one for one in (spool / "messages").glob("*.msg") if "remind_farm" in one.read_text()]
    assert json.loads(path.read_text())["headers"]["expires"] is not None
    assert reminders.EXPIRES == 120


def test_a_farm_that_is_gone_is_no_error(db):
    assert reminders.remind_farm(farm_id=404) is None
    assert reminders.send_waiting(farm_id=404) is None


def test_beat_sweeps_every_minute():
    entry = next(one for one in schedule.app.conf.beat_schedule.values() if one["task"] == "remind_due")
    assert entry["schedule"] == 60.0
    assert entry["options"]["expires"] < 60


def test_a_thousand_farms_that_are_not_due_cost_the_sweep_three_queries(world, django_assert_num_queries):
    channel(world.keeper)
    ReminderClock.objects.create(farm=world.farm, next_at=NOON + timedelta(days=400))
    with django_assert_num_queries(3):
        reminders.remind_due()
