"""Personal links over the API: made and shown once, listed without their secret, switched off."""

from __future__ import annotations

import pytest

from farm.errors import NotFound
from farm.models import Member, PersonalLink
from farm.services import members, personal_links
from tests.api.api_world import Program, child_program, wrong
from tests.conftest import NOON, World


@pytest.fixture
def eve(world: World) -> Member:
    """A helper without a login."""
    return members.add(world.by, name="Eve", role="helper")


def test_a_link_is_shown_once_and_opens(eve: Member, program: Program):
    made = program.post(f"/members/{eve.pk}/links/", {"label": "Old phone"})

    address = made.json()["address"]
    link = PersonalLink.objects.get()
    assert (made.status_code, link.member, link.label) == (200, eve, "Old phone")
    secret = address.split("/")[-2]
    assert personal_links.opened(secret, now=NOON) == link
    listed = program.get(f"/members/{eve.pk}/links/")
    assert listed.json()["items"] == [
        {
            "id": link.pk,
            "label": "Old phone",
            "created_at": "2026-05-01T10:00:00Z",
            "last_used_on": None,
            "revoked_at": None,
        }
    ]
    assert secret.encode() not in listed.content


def test_a_link_switched_off_opens_nothing(eve: Member, program: Program):
    address = program.post(f"/members/{eve.pk}/links/", {"label": "Old phone"}).json()["address"]

    assert program.delete(f"/personal-links/{PersonalLink.objects.get().pk}/").status_code == 204

    with pytest.raises(NotFound):
        personal_links.opened(address.split("/")[-2], now=NOON)
    assert program.get(f"/members/{eve.pk}/links/").json()["items"][0]["revoked_at"] == "2026-05-01T10:00:00Z"


def test_a_link_needs_a_label(eve: Member, program: Program):
    for label in (" ", "x" * 61):
        assert list(wrong(program.post(f"/members/{eve.pk}/links/", {"label": label}))) == ["#/label"]
    assert not PersonalLink.objects.exists()


def test_a_child_has_links_of_its_own_alone(world: World, eve: Member):
    child = child_program(world)
    personal_links.make(world.by, member_id=eve.pk, label="Old phone")

    assert child.get(f"/members/{eve.pk}/links/").status_code == 403
    assert child.post(f"/members/{eve.pk}/links/", {"label": "Mine"}).status_code == 403
    assert child.delete(f"/personal-links/{PersonalLink.objects.get().pk}/").status_code == 404
    assert PersonalLink.objects.get().revoked_at is None
    assert (
        child.post(f"/members/{Member.objects.get(name='Tim').pk}/links/", {"label": "Mine"}).status_code
        == 200
    )


def test_a_token_without_the_people_makes_no_link(world: World, eve: Member):
    reply = Program(world.by, "read", "record", "write").post(f"/members/{eve.pk}/links/", {"label": "Mine"})

    assert reply.status_code == 403
    assert not PersonalLink.objects.exists()


def test_another_farms_links_are_not_found(elsewhere: World, program: Program):
    personal_links.make(elsewhere.by, member_id=elsewhere.keeper.pk, label="Theirs")

    for reply in (
        program.get(f"/members/{elsewhere.keeper.pk}/links/"),
        program.post(f"/members/{elsewhere.keeper.pk}/links/", {"label": "Mine"}),
        program.delete(f"/personal-links/{PersonalLink.objects.get().pk}/"),
    ):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    assert PersonalLink.objects.get().revoked_at is None
