"""A login is given up: nothing at first, and after a while no table knows the e-mail address or the name."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.admin.models import LogEntry
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.test import Client

from calendars import services as calendars
from calendars.dav import passwords
from farm.errors import BadInput
from farm.models import ChoreMark, Invitation, Login, Member
from farm.services import chores, members, personal_links
from farm.services.actor import Actor
from farm.services.farewell import farms as closing
from farm.services.farewell import logins as farewell
from tests.conftest import NOON, TODAY, World, actor
from tests.farm.farewell_world import saying, whole

EMAIL, NAME, PASSWORD = "Wilhelmina.Quill@Example.org", "Wilhelmina", "correct horse battery"
DUE = NOON + timedelta(days=14)


@pytest.fixture
def wil(world: World) -> Actor:
    """A second keeper of Hollow Farm with a login of her own, who has done this and that."""
    login = Login.objects.create_user(EMAIL, PASSWORD, name=NAME)
    member = members.add(world.by, name=NAME, role="keeper")
    members.accept(members.invite(world.by, member_id=member.pk, email=EMAIL), login=login, now=NOON)
    member.refresh_from_db()
    by = actor(world.farm, member)
    chores.mark(by, source="room:1/look", due=TODAY, round="morning", title="Look", note=f"{NAME}, {EMAIL}")
    personal_links.make(by, member_id=member.pk, label=f"{NAME} phone")
    calendars.make_link(by, member_id=member.pk, label="laptop")
    passwords.make(by, member_id=member.pk, label="tablet")
    return by


def give_up(login: Login | None) -> None:
    assert login is not None
    farewell.give_up(login, password=PASSWORD, now=NOON)


def test_the_password_is_asked_for(wil: Actor):
    assert wil.login is not None
    with pytest.raises(BadInput) as refused:
        farewell.give_up(wil.login, password="guessed", now=NOON)

    assert list(refused.value.fields) == ["password"]
    wil.login.refresh_from_db()
    assert wil.login.leaving_at is None


def test_the_only_keeper_of_a_farm_settles_that_first(world: World):
    assert world.by.login is not None
    with pytest.raises(BadInput, match="Hollow Farm"):
        give_up(world.by.login)
    world.by.login.refresh_from_db()
    assert world.by.login.leaving_at is None

    closing.close(world.by, name="Hollow Farm")
    give_up(world.by.login)


def test_a_keeper_without_a_login_or_who_leaves_too_does_not_count(world: World, wil: Actor):
    members.add(world.by, name="Finn", role="keeper")
    give_up(world.by.login)

    with pytest.raises(BadInput, match="Hollow Farm"):
        give_up(wil.login)
    with pytest.raises(BadInput):
        members.leave(wil, member_id=wil.member.pk)


def test_all_sessions_of_the_login_end_and_no_others(world: World, wil: Actor):
    for login in (wil.login, wil.login, world.by.login):
        Client().force_login(login)
    give_up(wil.login)

    assert [row.get_decoded()["_auth_user_id"] for row in Session.objects.all()] == [str(world.by.login.pk)]


def test_until_its_time_nothing_is_changed_on_the_farms(world: World, wil: Actor):
    before = whole(world.farm.pk)
    give_up(wil.login)

    assert whole(world.farm.pk) == before
    assert farewell.due(now=DUE - timedelta(seconds=1)) == []
    assert not farewell.remove(login_id=wil.login.pk, now=DUE - timedelta(seconds=1))
    assert whole(world.farm.pk) == before


def test_a_login_that_was_taken_back_stays(world: World, wil: Actor):
    give_up(wil.login)

    assert farewell.take_back(wil.login)
    assert not farewell.take_back(wil.login)
    assert farewell.due(now=DUE) == []
    assert not farewell.remove(login_id=wil.login.pk, now=DUE)
    assert Login.objects.filter(pk=wil.login.pk).exists()


def test_then_no_table_knows_the_address_or_the_name(world: World, elsewhere: World, wil: Actor):
    invited = members.add(elsewhere.by, name="Somebody", role="helper")
    members.invite(elsewhere.by, member_id=invited.pk, email=EMAIL.lower())
    LogEntry.objects.create(
        user=elsewhere.by.login,
        content_type=ContentType.objects.get_for_model(Login),
        object_id=str(wil.login.pk),
        object_repr=EMAIL,
        action_flag=2,
    )
    Client().force_login(wil.login)
    give_up(wil.login)
    found = saying(EMAIL, NAME)
    assert {"farm_login.email", "farm_member.name", "farm_invitation.email", "farm_change.after"} <= set(
        found
    )

    assert farewell.due(now=DUE) == [wil.login.pk]
    assert farewell.remove(login_id=wil.login.pk, now=DUE)

    assert saying(EMAIL, NAME) == []
    assert not Login.objects.filter(pk=wil.login.pk).exists()
    assert Invitation.objects.filter(member=invited).count() == 1


def test_what_they_did_stays_and_they_are_off_the_farm(world: World, wil: Actor):
    give_up(wil.login)
    farewell.remove(login_id=wil.login.pk, now=DUE)

    member = Member.objects.get(pk=wil.member.pk)
    assert (member.name, member.login_id, member.left_on) == ("Former member 1", None, DUE.date())
    assert ChoreMark.objects.get().note == "Former member 1, Former member 1"
    assert ChoreMark.objects.get().member_id == member.pk


def test_farms_they_had_left_before_forget_them_too(world: World, elsewhere: World, wil: Actor):
    member = members.add(elsewhere.by, name=NAME, role="helper")
    members.accept(members.invite(elsewhere.by, member_id=member.pk), login=wil.login, now=NOON)
    members.leave(elsewhere.by, member_id=member.pk)
    give_up(wil.login)
    farewell.remove(login_id=wil.login.pk, now=DUE)

    assert saying(NAME) == []
    assert Member.objects.get(pk=member.pk).left_on == TODAY


def test_members_of_a_closed_farm_are_forgotten_there_too(world: World, wil: Actor):
    give_up(wil.login)
    closing.close(world.by, name="Hollow Farm")

    assert farewell.remove(login_id=wil.login.pk, now=DUE)
    assert saying(EMAIL, NAME) == []


def test_removing_twice_is_once(wil: Actor):
    give_up(wil.login)
    assert farewell.remove(login_id=wil.login.pk, now=DUE)
    assert not farewell.remove(login_id=wil.login.pk, now=DUE)


def test_a_login_without_whom_an_open_farm_had_no_keeper_stays(world: World, wil: Actor):
    give_up(wil.login)
    Login.objects.filter(pk=world.by.login.pk).update(is_active=False)
    before = whole(world.farm.pk)

    assert not farewell.remove(login_id=wil.login.pk, now=DUE)

    assert Login.objects.filter(pk=wil.login.pk).exists()
    assert whole(world.farm.pk) == before
