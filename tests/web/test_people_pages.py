"""The members' pages: who is there, who may come, and the invitation that is shown once."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.core.mail.backends import locmem
from django.test import override_settings
from django.urls import reverse

from farm.models import Invitation, Member
from farm.services import aways, members
from tests.conftest import NOON, TODAY


@pytest.fixture
def ada(world, client):
    client.force_login(world.keeper.login)
    return client


@pytest.fixture
def finn(world):
    return members.add(world.by, name="Finn", role="helper")


class BrokenMail(locmem.EmailBackend):
    """A mail server that is away."""

    def send_messages(self, messages):
        raise ConnectionRefusedError("nobody there")


def test_the_list_shows_everybody_with_role_and_sign_in(world, ada, finn):
    page = " ".join(ada.get(reverse("members")).content.decode().split())
    assert "Ada" in page
    assert "Signs in as ada@example.org" in page
    assert "Finn" in page
    assert "Does not sign in" in page


def test_the_list_says_when_somebody_is_away_and_how_much_they_do(world, ada):
    gil = members.add(world.by, name="Gil", role="helper", adult=True, rounds=[0, 2], share=50)
    day = TODAY + timedelta(days=400)
    aways.add(world.by, member_id=gil.pk, start=day, end=day + timedelta(days=3))
    with time_machine.travel(NOON, tick=False):
        page = " ".join(ada.get(reverse("members")).content.decode().split())
    assert "helper (does and records), adult" in page
    assert "There for 2 of 21 rounds a week, share 50 %" in page
    assert "Away: 5 June – 7 June" in page


def test_members_find_their_own_pages_and_nobody_elses(world, client, finn):
    kim = world.add_member("Kim", "child")
    client.force_login(kim.login)
    page = client.get(reverse("members")).content.decode()
    for name in ("member-away", "member-links"):
        assert reverse(name, args=[kim.member.pk]) in page
        assert reverse(name, args=[finn.pk]) not in page


def test_who_left_is_not_on_the_list(world, ada, finn):
    members.leave(world.by, member_id=finn.pk)
    assert "Finn" not in ada.get(reverse("members")).content.decode()


def test_others_see_names_but_neither_e_mails_nor_buttons(world, client, finn):
    client.force_login(world.add_member("Kim", "child").login)
    page = client.get(reverse("members")).content.decode()
    assert "Finn" in page
    assert "ada@example.org" not in page
    for name in ("member-edit", "member-invite", "member-leave"):
        assert reverse(name, args=[finn.pk]) not in page


def test_the_list_is_read_in_a_steady_number_of_queries(world, ada, finn, django_assert_max_num_queries):
    for n in range(12):
        members.add(world.by, name=f"P{n}", role="helper")
    with django_assert_max_num_queries(8):
        ada.get(reverse("members"))


def test_a_member_is_added_and_the_page_says_what_next(world, ada):
    answer = ada.post(reverse("member-new"), {"name": "Gil", "role": "child"}, follow=True)
    assert "Gil is on the farm." in answer.content.decode()
    assert Member.objects.get(name="Gil").role == "child"


@pytest.mark.parametrize(
    "typed, field",
    [
        ({"name": ""}, "name"),
        ({"name": "x" * 81}, "name"),
        ({"role": "king"}, "role"),
        ({"name": "Ada"}, None),
    ],
)
def test_a_member_that_cannot_be_right_is_refused_with_what_was_typed(world, ada, typed, field):
    answer = ada.post(reverse("member-new"), {"name": "Gil", "role": "child"} | typed)
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == [field or "__all__"]
    assert answer.context["form"]["name"].value() == typed.get("name", "Gil")
    assert Member.objects.filter(farm=world.farm).count() == 1


def test_a_member_is_changed(world, ada, finn):
    typed = {"name": "Fynn", "role": "child", "version": finn.version}
    assert ada.post(reverse("member-edit", args=[finn.pk]), typed).url == reverse("members")
    finn.refresh_from_db()
    assert (finn.name, finn.role) == ("Fynn", "child")


def test_a_member_changed_meanwhile_is_shown_first_and_saved_after_that(world, ada, finn):
    members.change(world.by, member_id=finn.pk, expected_version=1, name="Fynn", role="helper")
    typed = {"name": "Finnegan", "role": "helper", "version": 1}
    refused = ada.post(reverse("member-edit", args=[finn.pk]), typed)
    assert "Ada: Member Fynn changed" in refused.content.decode()
    again = typed | {"version": refused.context["form"]["version"].value()}
    assert ada.post(reverse("member-edit", args=[finn.pk]), again).status_code == 302
    finn.refresh_from_db()
    assert finn.name == "Finnegan"


def test_the_last_keeper_keeps_the_role(world, ada):
    typed = {"name": "Ada", "role": "helper", "version": 1}
    answer = ada.post(reverse("member-edit", args=[world.keeper.pk]), typed)
    assert answer.context["form"].errors["role"] == ["A farm needs at least one keeper who can sign in."]


def test_leaving_is_asked_before_it_is_done(world, ada, finn):
    page = ada.get(reverse("member-leave", args=[finn.pk])).content.decode()
    assert "Does Finn leave Hollow Farm?" in page
    assert Member.objects.get(pk=finn.pk).left_on is None
    ada.post(reverse("member-leave", args=[finn.pk]))
    assert Member.objects.get(pk=finn.pk).left_on is not None


def test_the_last_keeper_cannot_leave(world, ada):
    answer = ada.post(reverse("member-leave", args=[world.keeper.pk]))
    assert "A farm needs at least one keeper who can sign in." in answer.content.decode()
    assert Member.objects.get(pk=world.keeper.pk).left_on is None


def test_a_helper_may_leave_but_send_nobody_away(world, client, finn):
    helper = world.add_member("Hal", "helper")
    client.force_login(helper.login)
    assert client.post(reverse("member-leave", args=[finn.pk])).status_code == 403
    assert client.post(reverse("member-leave", args=[helper.member.pk])).status_code == 302
    assert Member.objects.get(pk=helper.member.pk).left_on is not None


@pytest.mark.parametrize("role", ["helper", "child"])
@pytest.mark.parametrize("name", ["member-new", "member-edit", "member-invite"])
def test_only_a_keeper_adds_changes_and_invites(world, client, finn, role, name):
    client.force_login(world.add_member("Kim", role).login)
    url = reverse(name, args=[] if name == "member-new" else [finn.pk])
    assert client.get(url).status_code == 403
    assert client.post(url, {"name": "Mine", "role": "keeper"}).status_code == 403
    assert not Member.objects.filter(name="Mine").exists()


@pytest.mark.parametrize(
    "name", ["member-edit", "member-leave", "member-invite", "member-away", "member-links"]
)
def test_another_farms_member_is_not_found(world, ada, elsewhere, name):
    url = reverse(name, args=[elsewhere.keeper.pk])
    assert ada.get(url).status_code == 404
    assert ada.post(url, {"name": "Mine", "role": "helper"}).status_code == 404
    elsewhere.keeper.refresh_from_db()
    assert (elsewhere.keeper.name, elsewhere.keeper.left_on) == ("Ada", None)


def test_an_invitations_link_is_shown_once_with_a_way_to_copy_it(world, ada, finn, client):
    answer = ada.post(reverse("member-invite", args=[finn.pk]))
    page = answer.content.decode()
    link = re.search(r">(http://localhost:\d+(/join/[\w-]{32}/))<", page)
    assert 'data-copy="link"' in page
    assert "no-store" in answer["Cache-Control"]
    assert link[1] not in ada.get(reverse("members")).content.decode()
    assert "Invited, until" in ada.get(reverse("members")).content.decode()
    assert type(client)().get(link[2]).status_code == 200
    assert mail.outbox == []


def test_the_link_may_go_by_letter_too(world, ada, finn):
    page = ada.post(reverse("member-invite", args=[finn.pk]), {"email": "finn@example.org"}).content.decode()
    link = re.search(r">(http://[^<]+/join/[^<]+)<", page)[1]
    assert "Sent to finn@example.org." in page
    letter = mail.outbox[0]
    assert (letter.to, letter.subject) == (["finn@example.org"], "You are invited to Hollow Farm")
    assert link in letter.body
    assert "Ada invites you" in letter.body


@override_settings(EMAIL_BACKEND=f"{__name__}.BrokenMail")
def test_a_letter_that_could_not_go_is_said_and_the_link_is_shown_all_the_same(world, ada, finn):
    page = ada.post(reverse("member-invite", args=[finn.pk]), {"email": "finn@example.org"}).content.decode()
    assert "The letter to finn@example.org could not be sent." in page
    assert "/join/" in page


def test_an_address_that_is_none_is_refused_and_no_link_is_made(world, ada, finn):
    answer = ada.post(reverse("member-invite", args=[finn.pk]), {"email": "finn at home"})
    assert list(answer.context["form"].errors) == ["email"]
    assert answer.context["form"]["email"].value() == "finn at home"
    assert not Invitation.objects.exists()


def test_who_can_sign_in_is_not_invited(world, ada):
    answer = ada.post(reverse("member-invite", args=[world.keeper.pk]))
    assert "Ada can sign in already." in answer.content.decode()
