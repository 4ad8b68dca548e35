"""Answers from memory: one query, and never one that would not be given anew."""

import gzip
from datetime import timedelta

import pytest

from calendars import editions, queries, remembered, services
from calendars.models import CalendarBody, CalendarLink
from farm.models import Login
from farm.queries.tokens import token_hash
from farm.services import chores, members
from tests.calendars.conftest import subscribe
from tests.conftest import NOON, TODAY


@pytest.fixture
def asked(app):
    """The phone has asked twice: the second answer was kept, with the first's note of use behind it."""
    app.get()
    app.get()
    return app


@pytest.mark.parametrize("headers", [{}, {"accept_encoding": "gzip"}])
def test_asking_again_is_one_query_and_the_very_same_answer(asked, headers, django_assert_num_queries):
    first = asked.get(**headers)
    with django_assert_num_queries(1):
        again = asked.get(**headers)
    assert (again.content, dict(again.headers)) == (first.content, dict(first.headers))
    with django_assert_num_queries(1):
        assert asked.get(**headers, if_none_match=first["ETag"]).status_code == 304


def test_a_tag_that_was_confirmed_is_no_body(app, django_assert_num_queries):
    tag = app.get()["ETag"]
    remembered._kept.clear()
    assert app.get(if_none_match=tag).status_code == 304
    with django_assert_num_queries(1):
        assert app.get(if_none_match=tag).status_code == 304
    assert app.get().content.startswith(b"BEGIN:VCALENDAR")


def test_a_change_is_seen_at_once(asked, farm):
    before = asked.get()
    source = f"room:{farm.housing['Brooder 1'].pk}/look"
    chores.mark(farm.by, source=source, due=TODAY, round="morning", title="Look")
    after = asked.get(if_none_match=before["ETag"])
    assert (after.status_code, b"[x]" in after.content) == (200, True)


def test_a_link_switched_off_is_off_at_once(asked, farm):
    services.revoke_link(farm.by, link_id=asked.link.pk)
    assert b"switched off" in asked.get().content


def test_a_member_who_left_or_may_not_sign_in_reads_no_more(farm):
    hal, kim = farm.add_member("Hal", "helper"), farm.add_member("Kim", "helper")
    apps = [subscribe(one, scope="mine") for one in (hal, kim)]
    for app in apps:
        app.get()
        app.get()
    Login.objects.filter(pk=hal.login.pk).update(is_active=False)
    members.leave(farm.by, member_id=kim.member.pk)
    for app in apps:
        assert b"switched off" in app.get().content or app.get().status_code == 410


def test_who_becomes_a_child_reads_their_own_at_once(farm):
    hal = farm.add_member("Hal", "helper")
    app = subscribe(hal, scope="farm")
    app.get()
    whole = app.get().content
    members.change(farm.by, member_id=hal.member.pk, expected_version=None, name="Hal", role="child")
    assert b"NAME:Hollow Farm\r\n" in whole
    assert b"NAME:Hollow Farm: Hal\r\n" in app.get().content


def test_the_next_day_is_another_answer(asked):
    assert asked.get(NOON + timedelta(days=1))["ETag"] != asked.get()["ETag"]
    assert CalendarLink.objects.get().last_used_on == TODAY + timedelta(days=1)


def test_another_program_is_noted(asked):
    asked.get(user_agent="Thunderbird/128")
    assert CalendarLink.objects.get().last_client == "mail"


def test_a_stored_body_that_is_gone_is_built_again(asked):
    CalendarBody.objects.all().delete()
    assert asked.get().status_code == 200
    assert CalendarBody.objects.exists()


def test_what_was_read_before_a_change_is_not_kept(app, farm):
    """A write between reading the farm and keeping the answer: the answer may be sent, but never again."""
    app.get()
    edition = editions.of(queries.find(app.secret))
    tag = queries.stored(edition).etag
    farm.add_housing("Brooder 9")
    remembered._kept.clear()
    remembered.keep(token_hash(app.secret), "other", edition, TODAY, tag, b"old", zipped=False)
    assert not remembered._kept


def test_memory_is_bounded(asked, farm, monkeypatch):
    other = subscribe(farm.by, scope="mine")
    monkeypatch.setattr(remembered, "MOST_OCTETS", len(asked.get().content) + 10_000)
    for app in (other, asked, other):
        app.get()
        app.get()
    assert sum(len(one.octets) for one in remembered._kept.values()) <= remembered.MOST_OCTETS
    assert gzip.decompress(asked.get(accept_encoding="gzip").content) == asked.get().content
