"""Jobs are sent after the commit, with ids alone, and a broker that is away harms nobody."""

import json
import logging
import uuid

import pytest
from django.db import transaction

from farm import dispatch

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_job_is_sent_only_when_the_transaction_has_committed(sent):
    with transaction.atomic():
        dispatch.after_commit("roll_over", farm_id=7)
        assert sent() == []
    assert sent() == [("roll_over", {"farm_id": 7})]


def test_a_transaction_rolled_back_sends_nothing(sent):
    with transaction.atomic():
        dispatch.after_commit("roll_over", farm_id=7)
        transaction.set_rollback(True)
    assert sent() == []


def test_without_a_transaction_a_job_is_sent_at_once(sent):
    dispatch.after_commit("refresh_calendars", farm_id=3)
    assert sent() == [("refresh_calendars", {"farm_id": 3})]


def test_an_id_may_be_a_uuid_which_travels_as_text(sent):
    key = uuid.UUID("12345678123456781234567812345678")
    dispatch.after_commit("roll_over", farm_id=key)
    assert sent() == [("roll_over", {"farm_id": str(key)})]


@pytest.mark.parametrize("value", [None, 1.5, True, [1], {"pk": 1}, object()])
def test_anything_but_an_id_is_refused_where_it_is_sent(sent, value):
    with pytest.raises(TypeError, match="roll_over: farm_id must be an id"):
        dispatch.after_commit("roll_over", farm_id=value)
    assert sent() == []


def test_a_job_nobody_wrote_is_refused_where_it_is_sent(sent):
    with pytest.raises(LookupError, match="no background job is called 'roll_ovr'"):
        dispatch.after_commit("roll_ovr", farm_id=1)
    assert sent() == []


def test_with_the_broker_away_what_was_written_stays_and_the_log_says_what_waits(
    spool, caplog, django_user_model
):
    (spool / "messages").rmdir()
    (spool / "messages").write_text("a file where the folder was")
    with caplog.at_level(logging.WARNING, logger="farm.dispatch"), transaction.atomic():
        django_user_model.objects.create_user("keeper@birds.example")
        dispatch.after_commit("roll_over", farm_id=7)
    (spool / "messages").unlink()
    assert django_user_model.objects.filter(email="keeper@birds.example").count() == 1
    [record] = caplog.records
    assert record.getMessage().startswith(
        "the broker is away, roll_over {'farm_id': 7} waits for the hourly sweep: Cannot write "
    )


def test_each_job_sent_carries_when_it_expires(spool):
    dispatch.after_commit("roll_over", farm_id=7)
    [path] = (spool / "messages").glob("*.msg")
    assert json.loads(path.read_text())["headers"]["expires"] is not None


def test_a_job_asked_for_many_times_in_one_transaction_is_sent_once(sent):
    with transaction.atomic():
        for _ in range(3):
            with transaction.atomic():
                dispatch.after_commit("roll_over", farm_id=7)
        dispatch.after_commit("roll_over", farm_id=7)
        dispatch.after_commit("roll_over", farm_id=8)

    assert sorted(sent(), key=str) == [("roll_over", {"farm_id": 7}), ("roll_over", {"farm_id": 8})]


def test_a_job_asked_for_first_outside_is_not_asked_for_again_inside(sent):
    with transaction.atomic():
        dispatch.after_commit("roll_over", farm_id=7)
        with transaction.atomic():
            dispatch.after_commit("roll_over", farm_id=7)

    assert sent() == [("roll_over", {"farm_id": 7})]


def test_a_job_is_sent_although_a_block_that_asked_for_it_too_was_taken_back(sent):
    with transaction.atomic():
        with transaction.atomic():
            dispatch.after_commit("roll_over", farm_id=7)
            transaction.set_rollback(True)
        dispatch.after_commit("roll_over", farm_id=7)

    assert sent() == [("roll_over", {"farm_id": 7})]
