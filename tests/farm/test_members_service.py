"""The people of a farm: who may come, change and go, and how a link makes somebody a member."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import IntegrityError
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import HistoryEntry, Invitation, Login, Member
from farm.models.member import Role
from farm.services import members
from tests.conftest import NOON, TODAY, actor


@pytest.fixture
def finn(world):
    """A helper without a login."""
    return members.add(world.by, name=" Finn ", role=Role.HELPER)


@pytest.fixture
def newcomer(db):
    return Login.objects.create_user("finn@example.org", "pw")


def test_a_new_member_has_no_login_and_a_trimmed_name(finn):
    assert (finn.name, finn.role, finn.login) == ("Finn", Role.HELPER, None)


def test_two_members_of_one_farm_cannot_have_the_same_name(world, finn):
    with pytest.raises(BadInput) as refused:
        members.add(world.by, name="Finn", role=Role.CHILD)
    assert "already has this name" in str(refused.value)
    assert Member.objects.filter(farm=world.farm).count() == 2


def test_a_name_may_come_again_after_its_member_has_left(world, finn):
    members.leave(world.by, member_id=finn.pk)
    assert members.add(world.by, name="Finn", role=Role.CHILD).pk != finn.pk


@pytest.mark.parametrize("field, value", [("name", "  "), ("role", "king"), ("name", "x" * 81)])
def test_a_member_that_cannot_be_right_is_refused_at_its_field(world, field, value):
    with pytest.raises(BadInput) as refused:
        members.add(world.by, **({"name": "Gil", "role": Role.HELPER} | {field: value}))
    assert list(refused.value.fields) == [field]


def test_a_helper_adds_nobody(world):
    helper = world.add_member("Hal", Role.HELPER)
    with pytest.raises(NotAllowed):
        members.add(helper, name="Gil", role=Role.CHILD)


def test_changing_a_member_raises_the_version_and_is_in_the_history(world, finn):
    changed = members.change(world.by, member_id=finn.pk, expected_version=1, name="Fynn", role=Role.CHILD)
    assert (changed.name, changed.role, changed.version) == ("Fynn", Role.CHILD, 2)
    entry = HistoryEntry.objects.filter(farm=world.farm).first()
    assert (entry.summary, entry.member) == ("Member Fynn changed", world.keeper)


def test_a_member_changed_meanwhile_is_not_overwritten(world, finn):
    members.change(world.by, member_id=finn.pk, expected_version=1, name="Fynn", role=Role.HELPER)
    with pytest.raises(Stale) as refused:
        members.change(world.by, member_id=finn.pk, expected_version=1, name="Finnegan", role=Role.HELPER)
    assert refused.value.changes == ["Ada: Member Fynn changed"]
    assert refused.value.version == 2
    finn.refresh_from_db()
    assert finn.name == "Fynn"


def test_the_only_keeper_cannot_become_a_helper(world):
    with pytest.raises(BadInput) as refused:
        members.change(
            world.by, member_id=world.keeper.pk, expected_version=None, name="Ada", role=Role.HELPER
        )
    assert refused.value.fields == {"role": ["A farm needs at least one keeper who can sign in."]}
    world.keeper.refresh_from_db()
    assert world.keeper.role == Role.KEEPER


def test_a_keeper_without_a_login_does_not_keep_the_farm(world):
    members.add(world.by, name="Gran", role=Role.KEEPER)
    with pytest.raises(BadInput):
        members.leave(world.by, member_id=world.keeper.pk)


def test_a_keeper_may_step_down_when_another_can_sign_in(world):
    world.add_member("Bo", Role.KEEPER)
    changed = members.change(
        world.by, member_id=world.keeper.pk, expected_version=None, name="Ada", role=Role.HELPER
    )
    assert changed.role == Role.HELPER


def test_a_member_of_another_farm_is_not_found(world, elsewhere):
    for verb in (members.leave, members.invite):
        with pytest.raises(NotFound):
            verb(world.by, member_id=elsewhere.keeper.pk)


def test_who_leaves_loses_the_login_and_keeps_the_name(world):
    helper = world.add_member("Hal", Role.HELPER)
    gone = members.leave(world.by, member_id=helper.member.pk)
    assert (gone.login, gone.left_on, gone.name) == (None, TODAY, "Hal")


def test_a_helper_may_leave_alone_but_send_nobody_away(world, finn):
    helper = world.add_member("Hal", Role.HELPER)
    with pytest.raises(NotAllowed):
        members.leave(helper, member_id=finn.pk)
    assert members.leave(helper, member_id=helper.member.pk).left_on == TODAY


def test_a_child_does_not_leave_by_pressing_a_button(world):
    child = world.add_member("Kim", Role.CHILD)
    with pytest.raises(NotAllowed):
        members.leave(child, member_id=child.member.pk)


def test_who_left_cannot_be_changed_again(world, finn):
    members.leave(world.by, member_id=finn.pk)
    with pytest.raises(NotFound):
        members.change(world.by, member_id=finn.pk, expected_version=None, name="F", role=Role.HELPER)


def test_an_invitation_keeps_only_the_hash_of_its_secret(world, finn):
    secret = members.invite(world.by, member_id=finn.pk, email=" finn@example.org ")
    kept = Invitation.objects.get(member=finn)
    assert len(secret) == 32
    assert secret not in str(Invitation.objects.values().get())
    assert (kept.email, kept.expires_at) == ("finn@example.org", NOON + timedelta(days=14))


def test_accepting_gives_the_login_the_members_place(world, finn, newcomer):
    secret = members.invite(world.by, member_id=finn.pk)
    accepted = members.accept(secret, login=newcomer, now=NOON)
    assert (accepted.pk, accepted.login, accepted.role) == (finn.pk, newcomer, Role.HELPER)
    entry = HistoryEntry.objects.filter(farm=world.farm).first()
    assert (entry.summary, entry.member, entry.login) == ("Finn accepted the invitation", finn, newcomer)


def test_a_link_works_once(world, finn, newcomer):
    secret = members.invite(world.by, member_id=finn.pk)
    members.accept(secret, login=newcomer, now=NOON)
    other = Login.objects.create_user("other@example.org", "pw")
    with pytest.raises(NotFound):
        members.accept(secret, login=other, now=NOON)


@pytest.mark.parametrize("days, opens", [(13, True), (14, False)])
def test_a_link_is_good_for_fourteen_days(world, finn, newcomer, days, opens):
    secret = members.invite(world.by, member_id=finn.pk)
    later = NOON + timedelta(days=days)
    if opens:
        assert members.accept(secret, login=newcomer, now=later).pk == finn.pk
        return
    with pytest.raises(NotFound):
        members.accept(secret, login=newcomer, now=later)


def test_a_second_invitation_ends_the_first(world, finn):
    first = members.invite(world.by, member_id=finn.pk)
    second = members.invite(world.by, member_id=finn.pk)
    with pytest.raises(NotFound):
        members.invited(first, now=NOON)
    assert members.invited(second, now=NOON).member == finn


def test_a_link_dies_with_the_membership(world, finn):
    secret = members.invite(world.by, member_id=finn.pk)
    members.leave(world.by, member_id=finn.pk)
    with pytest.raises(NotFound):
        members.invited(secret, now=NOON)


def test_who_can_sign_in_is_not_invited(world):
    with pytest.raises(BadInput) as refused:
        members.invite(world.by, member_id=world.keeper.pk)
    assert str(refused.value) == "Ada can sign in already."


def test_an_address_that_is_none_is_refused_and_the_old_link_stays(world, finn):
    secret = members.invite(world.by, member_id=finn.pk)
    with pytest.raises(BadInput) as refused:
        members.invite(world.by, member_id=finn.pk, email="not an address")
    assert list(refused.value.fields) == ["email"]
    assert members.invited(secret, now=NOON).member == finn


def test_nobody_is_two_members_of_one_farm(world, finn):
    secret = members.invite(world.by, member_id=finn.pk)
    with pytest.raises(BadInput) as refused:
        members.accept(secret, login=world.keeper.login, now=NOON)
    assert str(refused.value) == "You are on this farm already."
    assert members.invited(secret, now=NOON).member == finn


def test_the_database_itself_refuses_a_login_twice_on_one_farm(world, finn):
    with pytest.raises(IntegrityError):
        Member.objects.filter(pk=finn.pk).update(login=world.keeper.login)


def test_a_login_may_be_a_member_of_several_farms(world, elsewhere, finn):
    secret = members.invite(world.by, member_id=finn.pk)
    members.accept(secret, login=elsewhere.keeper.login, now=NOON)
    assert set(elsewhere.keeper.login.memberships.values_list("farm__name", flat=True)) == {
        "Far Farm",
        "Hollow Farm",
    }


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(wishes=st.lists(st.tuples(st.integers(0, 2), st.sampled_from([*Role.values, "leave"])), max_size=8))
def test_whatever_is_asked_a_farm_keeps_a_keeper_who_can_sign_in(world, wishes):
    suffix = Member.objects.count()
    people = [world.keeper] + [world.add_member(f"P{suffix}.{n}", Role.KEEPER).member for n in range(2)]
    for who, wish in wishes:
        by = replace(actor(world.farm, people[who]), member=None)
        try:
            if wish == "leave":
                members.leave(by, member_id=people[who].pk)
            else:
                members.change(
                    by, member_id=people[who].pk, expected_version=None, name=people[who].name, role=wish
                )
        except (BadInput, NotFound):
            pass
        assert Member.objects.filter(
            farm=world.farm, role=Role.KEEPER, login__isnull=False, left_on__isnull=True
        ).exists()
