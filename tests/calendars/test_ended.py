"""A link that is off: for 30 days it says so, then it is gone; and it is off the moment a member leaves."""

import logging
from datetime import timedelta

import pytest

from calendars import services
from farm.models import Farm
from farm.services import members
from tests.calendars.conftest import subscribe
from tests.calendars.linter import problems
from tests.conftest import NOON

LATER = NOON + timedelta(hours=1)


@pytest.fixture
def off(app, farm):
    """The keeper's phone with its link switched off at NOON."""
    services.revoke_link(farm.by, link_id=app.link.pk)
    return app


def test_a_switched_off_link_is_a_sound_calendar_with_one_notice_and_nothing_of_the_farm(off):
    response = off.get(LATER)
    text = response.content.decode()
    assert (response.status_code, problems(response.content)) == (200, [])
    assert (text.count("BEGIN:VEVENT"), "SUMMARY:Calendar switched off" in text) == (1, True)
    assert "Brooder" not in text
    assert "Hollow" not in text


def test_the_notice_covers_the_days_it_is_answered(off):
    text = off.get(LATER).content.decode()
    assert "DTSTART;VALUE=DATE:20260501\r\nDTEND;VALUE=DATE:20260531\r\n" in text


def test_the_notice_is_the_same_bytes_every_time(off):
    first, later = off.get(LATER), off.get(NOON + timedelta(days=20))
    assert (first.content, first["ETag"]) == (later.content, later["ETag"])
    assert off.get(LATER, if_none_match=first["ETag"]).status_code == 304


def test_after_30_days_the_calendar_is_gone(off):
    assert off.get(NOON + timedelta(days=30) - timedelta(seconds=1)).status_code == 200
    response = off.get(NOON + timedelta(days=30))
    assert (response.status_code, response.content) == (410, b"This calendar was switched off.\n")


def test_the_old_tag_does_not_hide_the_notice(app, farm):
    tag = app.get()["ETag"]
    services.revoke_link(farm.by, link_id=app.link.pk)
    assert app.get(LATER, if_none_match=tag).status_code == 200


def test_a_members_calendar_ends_with_the_membership(farm):
    helper = farm.add_member("Ben", "helper")
    app = subscribe(helper)
    assert "Brooder" in app.get().content.decode()
    members.leave(farm.by, member_id=helper.member.pk)
    text = app.get(LATER).content.decode()
    assert "SUMMARY:Calendar switched off" in text
    assert "Brooder" not in text
    assert app.get(NOON + timedelta(days=30)).status_code == 410


def test_a_login_that_may_not_sign_in_reads_no_calendar_either(app, farm):
    farm.keeper.login.__class__.objects.update(is_active=False)
    assert "SUMMARY:Calendar switched off" in app.get(LATER).content.decode()
    assert app.get(NOON + timedelta(days=31)).status_code == 410
    farm.keeper.login.__class__.objects.update(is_active=True)
    assert b"Brooder" in app.get(LATER).content


def test_one_link_off_leaves_the_others_on(app, farm):
    other = subscribe(farm.by)
    services.revoke_link(farm.by, link_id=app.link.pk)
    assert b"Calendar switched off" not in other.get(LATER).content


def test_the_farms_end_is_the_links_end(app, farm):
    farm.farm.delete()
    assert app.get().status_code == 404


def test_no_log_line_of_any_answer_holds_the_secret(app, farm, caplog, settings):
    caplog.set_level(logging.DEBUG)
    app.get()
    app.get(method="post")
    services.revoke_link(farm.by, link_id=app.link.pk)
    app.get(LATER)
    app.get(NOON + timedelta(days=40))
    app.secret = app.secret[:-1] + ("A" if app.secret[-1] != "A" else "B")
    assert app.get().status_code == 404
    lines = [record.getMessage() + str(record.__dict__) for record in caplog.records]
    assert not [line for line in lines if app.secret[:-1] in line]


def test_a_failure_while_answering_asks_to_come_again_and_logs_no_secret(app, farm, caplog):
    Farm.objects.update(time_zone="Mars/Olympus")
    response = app.get()
    assert (response.status_code, response["Retry-After"]) == (503, "300")
    assert [record.getMessage() for record in caplog.records] == ["a calendar could not be answered"]
    assert app.secret not in caplog.text
