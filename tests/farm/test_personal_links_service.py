"""Personal links: a secret that opens one member's rounds, kept as a hash alone."""

from __future__ import annotations

import hashlib
import re
from datetime import timedelta

import pytest

from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Change, HistoryEntry, Member, PersonalLink
from farm.services import history, members, personal_links
from tests.conftest import NOON, TODAY, World


@pytest.fixture
def kim(world: World) -> Member:
    """A child without a login."""
    return members.add(world.by, name="Kim", role="child")


def make(world: World, member: Member, label: str = "phone") -> tuple[str, PersonalLink]:
    secret = personal_links.make(world.by, member_id=member.pk, label=label)
    return secret, PersonalLink.objects.order_by("-pk")[0]


def test_a_link_opens_its_member(world: World, kim: Member):
    secret, link = make(world, kim, " Kim's phone ")

    assert re.fullmatch(r"[A-Za-z0-9_-]{32}", secret)
    assert personal_links.opened(secret, now=NOON) == link
    assert (link.member, link.label, link.created_at, link.last_used_on) == (kim, "Kim's phone", NOON, None)


def test_only_the_hash_of_the_secret_is_kept(world: World, kim: Member):
    secret, link = make(world, kim)

    assert link.token_sha256 == hashlib.sha256(secret.encode()).hexdigest()
    kept = [*PersonalLink.objects.values(), *Change.objects.values(), *HistoryEntry.objects.values()]
    assert secret not in str(kept)


def test_no_two_links_share_a_secret(world: World, kim: Member):
    assert len({make(world, kim)[0] for _n in range(5)}) == 5


@pytest.mark.parametrize("label", ["", "  ", "x" * 61])
def test_a_link_needs_a_short_label(world: World, kim: Member, label: str):
    with pytest.raises(BadInput) as refused:
        make(world, kim, label)

    assert list(refused.value.fields) == ["label"]
    assert not PersonalLink.objects.exists()


def test_a_member_has_twenty_live_links_at_most(world: World, kim: Member):
    for n in range(personal_links.MOST_LINKS):
        make(world, kim, f"phone {n}")
    with pytest.raises(BadInput, match="20 links already"):
        make(world, kim)

    personal_links.revoke(world.by, link_id=kim.personal_links.first().pk)
    make(world, kim)


@pytest.mark.parametrize("role", ["helper", "child"])
def test_others_make_links_for_themselves_alone(world: World, kim: Member, role: str):
    by = world.add_member("Hal", role)
    personal_links.make(by, member_id=by.member.pk, label="mine")

    with pytest.raises(NotAllowed):
        personal_links.make(by, member_id=kim.pk, label="theirs")

    assert [link.member.name for link in PersonalLink.objects.all()] == ["Hal"]


def test_a_link_that_is_switched_off_opens_nothing_and_stays_so(world: World, kim: Member):
    secret, link = make(world, kim)

    personal_links.revoke(world.by, link_id=link.pk)
    personal_links.revoke(world.by, link_id=link.pk)

    with pytest.raises(NotFound):
        personal_links.opened(secret, now=NOON)
    assert HistoryEntry.objects.filter(verb="switch personal link off").count() == 1


def test_a_link_that_is_switched_off_is_not_undone(world: World, kim: Member):
    _secret, link = make(world, kim)
    personal_links.revoke(world.by, link_id=link.pk)

    assert not history.can_undo(HistoryEntry.objects.order_by("-pk")[0])


def test_the_other_links_of_a_member_go_on(world: World, kim: Member):
    lost, link = make(world, kim, "lost")
    kept, _link = make(world, kim, "kept")
    personal_links.revoke(world.by, link_id=link.pk)

    assert personal_links.opened(kept, now=NOON).label == "kept"
    with pytest.raises(NotFound):
        personal_links.opened(lost, now=NOON)


def test_who_may_not_see_a_link_cannot_switch_it_off(world: World, elsewhere: World, kim: Member):
    secret, link = make(world, kim)

    for by in (elsewhere.by, world.add_member("Hal", "helper"), world.add_member("Lou", "child")):
        with pytest.raises(NotFound):
            personal_links.revoke(by, link_id=link.pk)

    assert personal_links.opened(secret, now=NOON) == link


def test_members_switch_their_own_off(world: World):
    by = world.add_member("Hal", "child")
    secret = personal_links.make(by, member_id=by.member.pk, label="mine")

    personal_links.revoke(by, link_id=by.member.personal_links.get().pk)

    with pytest.raises(NotFound):
        personal_links.opened(secret, now=NOON)


@pytest.mark.parametrize("secret", ["", "x", "A" * 32, "ä" * 32])
def test_an_unknown_secret_opens_nothing(world: World, kim: Member, secret: str):
    make(world, kim)

    with pytest.raises(NotFound):
        personal_links.opened(secret, now=NOON)


def test_the_hash_itself_opens_nothing(world: World, kim: Member):
    _secret, link = make(world, kim)

    with pytest.raises(NotFound):
        personal_links.opened(link.token_sha256, now=NOON)


def test_a_member_who_left_has_no_way_in(world: World, kim: Member):
    secret, _link = make(world, kim)
    Member.objects.filter(pk=kim.pk).update(left_on=TODAY)  # whatever else ended with it

    with pytest.raises(NotFound):
        personal_links.opened(secret, now=NOON)


def test_no_link_is_made_for_who_left_or_is_elsewhere(world: World, elsewhere: World, kim: Member):
    members.leave(world.by, member_id=kim.pk)

    for member in (kim, elsewhere.keeper):
        with pytest.raises(NotFound):
            make(world, member)


def test_use_is_noted_by_the_day_and_never_backwards(world: World, kim: Member):
    _secret, link = make(world, kim)

    for day in (TODAY, TODAY, TODAY + timedelta(days=1), TODAY):
        personal_links.used(link, day)
        link.refresh_from_db()

    assert link.last_used_on == TODAY + timedelta(days=1)


def test_use_is_one_write_a_day(world: World, kim: Member, django_assert_num_queries):
    _secret, link = make(world, kim)
    personal_links.used(link, TODAY)
    link.refresh_from_db()

    with django_assert_num_queries(0):
        personal_links.used(link, TODAY)
