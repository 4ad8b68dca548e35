"""Personal links on their pages: made, shown this once, switched off."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse

from farm.errors import NotFound
from farm.models import Member, PersonalLink
from farm.services import members, personal_links
from farm.web.housing.card import qr_svg
from tests.conftest import NOON, World


@pytest.fixture
def ada(world: World, client: Client) -> Client:
    client.force_login(world.keeper.login)
    return client


@pytest.fixture
def kim(world: World) -> Member:
    return members.add(world.by, name="Kim", role="child")


def page_of(member: Member) -> str:
    return reverse("member-links", args=[member.pk])


def test_a_link_is_shown_once_with_a_code_and_a_way_to_copy_it(world, ada, kim, settings):
    settings.ADDRESS = "https://farm.example"

    answer = ada.post(page_of(kim), {"label": "Kim's phone"})

    page = answer.content.decode()
    address = re.search(r">(https://farm\.example/my/([\w-]{32})/)<", page)
    assert address is not None
    assert personal_links.opened(address[2], now=NOON).member == kim
    assert 'data-copy="link"' in page
    assert qr_svg(address[1]) in page
    assert "no-store" in answer["Cache-Control"]
    assert address[2] not in ada.get(page_of(kim)).content.decode()


def test_the_code_is_a_drawing_with_words_for_who_cannot_see_it(world, ada, kim):
    page = ada.post(page_of(kim), {"label": "phone"}).content.decode()

    drawn = re.search(
        r'<div role="img" aria-label="QR code of the link" class="code">(<svg.*?</svg>)', page, re.S
    )
    assert drawn is not None
    assert ElementTree.fromstring(drawn[1]).tag.endswith("svg")
    assert "style=" not in drawn[1]


def test_the_list_says_what_a_link_is_called_and_when_it_was_used(world, ada, kim):
    for label in ("phone", "old phone"):
        personal_links.make(world.by, member_id=kim.pk, label=label)
    personal_links.used(PersonalLink.objects.get(label="phone"), NOON.date())
    personal_links.revoke(world.by, link_id=PersonalLink.objects.get(label="old phone").pk)

    page = " ".join(ada.get(page_of(kim)).content.decode().split())

    assert re.search(r"<h2>phone</h2>.*<dd>1 May</dd>.*<dd>1 May</dd>", page)
    assert "<h2>old phone</h2>" not in page
    assert "1 switched off" in page
    assert "<li>old phone, 1 May</li>" in page


@pytest.mark.parametrize("label", ["", "x" * 61])
def test_a_link_without_a_fit_label_is_refused_and_none_is_made(world, ada, kim, label: str):
    answer = ada.post(page_of(kim), {"label": label})

    assert list(answer.context["form"].errors) == ["label"]
    assert not PersonalLink.objects.exists()


def test_too_many_links_are_refused_above_the_form(world, ada, kim):
    for n in range(personal_links.MOST_LINKS):
        personal_links.make(world.by, member_id=kim.pk, label=f"phone {n}")

    answer = ada.post(page_of(kim), {"label": "one more"})

    assert "There are 20 links already." in answer.content.decode()
    assert answer.context["form"]["label"].value() == "one more"


def test_a_link_is_switched_off_after_asking(world, ada, kim):
    secret = personal_links.make(world.by, member_id=kim.pk, label="phone")
    url = reverse("member-link-off", args=[PersonalLink.objects.get().pk])

    assert "Switch “phone” off?" in ada.get(url).content.decode()
    assert personal_links.opened(secret, now=NOON).label == "phone"
    assert ada.post(url).url == page_of(kim)
    with pytest.raises(NotFound):
        personal_links.opened(secret, now=NOON)


def test_members_make_and_switch_off_their_own_alone(world, client, kim):
    by = world.add_member("Hal", "child")
    client.force_login(by.login)
    personal_links.make(world.by, member_id=kim.pk, label="theirs")
    theirs = reverse("member-link-off", args=[PersonalLink.objects.get().pk])

    assert client.get(page_of(kim)).status_code == 403
    assert client.post(page_of(kim), {"label": "x"}).status_code == 403
    assert (client.get(theirs).status_code, client.post(theirs).status_code) == (404, 404)
    assert "/my/" in client.post(page_of(by.member), {"label": "mine"}).content.decode()
    mine = PersonalLink.objects.get(label="mine")
    assert client.post(reverse("member-link-off", args=[mine.pk])).status_code == 302

    assert [link.label for link in PersonalLink.objects.filter(revoked_at=None)] == ["theirs"]


def test_who_left_has_no_page_of_links(world, ada, kim):
    members.leave(world.by, member_id=kim.pk)

    assert ada.get(page_of(kim)).status_code == 404


def test_another_farms_links_are_not_found(world, ada, elsewhere):
    secret = personal_links.make(elsewhere.by, member_id=elsewhere.keeper.pk, label="phone")
    url = reverse("member-link-off", args=[PersonalLink.objects.get().pk])

    assert (ada.get(url).status_code, ada.post(url).status_code) == (404, 404)
    assert personal_links.opened(secret, now=NOON).member == elsewhere.keeper
