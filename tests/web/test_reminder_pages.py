"""One's own reminders, a keeper's page for who can't sign in, and what did not arrive."""

import re
from datetime import time

import pytest
from django.core import mail
from django.urls import reverse

from farm.models import Channel, Delivery, Notice, ReminderWishes
from farm.services import channels, members
from farm.services.channels import sealing
from farm.services.reminders import own_channels, wishes
from tests.conftest import NOON
from tests.farm.channels_world import browser
from tests.farm.reminders_world import Sender, channel, refuses
from tests.farm.test_reminders_sending import message

MINE = "/my/reminders/"


@pytest.fixture(autouse=True)
def _at_noon(time_machine):
    time_machine.move_to(NOON, tick=False)


@pytest.fixture
def ada(world, client):
    client.force_login(world.keeper.login)
    return client


@pytest.fixture
def kim(world):
    """A child without a login."""
    return members.add(world.by, name="Kim", role="child")


def text(answer):
    return " ".join(answer.content.decode().split())


def suggested(world):
    found = {
        name: value for name, value in wishes.suggested(world.farm).items() if value not in (None, False)
    }
    return {"do": "wishes"} | {
        name: f"{value:%H:%M}" if isinstance(value, time) else "on" if value is True else value
        for name, value in found.items()
    }


def test_the_page_begins_with_nothing_set_and_suggests_times_before_the_rounds(world, ada):
    page = text(ada.get(MINE))
    assert "Nowhere yet." in page
    for name, clock in (
        ("morning_at", "06:30"),
        ("midday_at", "12:00"),
        ("quiet_from", "21:30"),
        ("quiet_to", "06:30"),
    ):
        assert re.search(rf'<input type="time" name="{name}" value="{clock}"', page), name
    assert ReminderWishes.objects.count() == 0


def test_an_e_mail_address_is_added_and_the_page_says_what_next(world, ada):
    answer = ada.post(MINE, {"do": "email", "email-address": "ada@example.org"}, follow=True)
    page = text(answer)
    assert "Added: ada@example.org. Send a test" in page
    assert "Now say below what you want to hear" in page
    assert Channel.objects.get().member == world.keeper


def test_an_address_that_cannot_be_right_is_shown_with_its_reason(world, ada):
    answer = ada.post(MINE, {"do": "email", "email-address": "nobody"})
    assert answer.status_code == 200
    assert "address" in answer.context["email_form"].errors
    assert '<details class="card" open>' in text(answer)
    assert answer.context["service_form"].errors == {}
    assert not answer.context["wishes_form"].errors


def test_a_services_address_is_never_shown_again(world, ada, monkeypatch):
    class Takes(Sender):
        def check(self, address):
            return "Telegram"

    monkeypatch.setattr(channels, "of_kind", lambda kind: Takes())
    answer = ada.post(MINE, {"do": "service", "service-address": "tgram://SECRET/1"}, follow=True)
    assert "Added: Telegram" in text(answer)
    assert "SECRET" not in text(answer)
    assert "SECRET" not in text(ada.get(reverse("history")))
    assert sealing.open_sealed(Channel.objects.get().address) == "tgram://SECRET/1"


def test_a_service_that_is_refused_says_so_beside_the_field(world, ada):
    answer = ada.post(MINE, {"do": "service", "service-address": "file:///etc/passwd"})
    assert list(answer.context["service_form"].errors) == ["address"]
    assert Channel.objects.count() == 0


def test_wishes_are_saved_as_suggested_and_the_caution_goes(world, ada):
    channel(world.keeper)
    answer = ada.post(MINE, suggested(world), follow=True)
    assert "Saved." in text(answer)
    row = ReminderWishes.objects.get()
    assert (row.morning_at, row.outlook_weekday, row.changed, row.quiet_to) == (
        time(6, 30),
        6,
        True,
        time(6, 30),
    )
    assert "Now say below" not in text(answer)


def test_times_left_empty_are_no_reminders(world, ada):
    ada.post(
        MINE, suggested(world) | {"morning_at": "", "outlook_weekday": "", "quiet_from": "", "quiet_to": ""}
    )
    row = ReminderWishes.objects.get()
    assert (row.morning_at, row.outlook_weekday, row.quiet_from) == (None, None, None)


def test_quiet_hours_with_one_time_alone_are_refused_in_words(world, ada):
    answer = ada.post(MINE, suggested(world) | {"quiet_to": ""})
    assert "Enter both times of the quiet hours, or neither." in text(answer)
    assert ReminderWishes.objects.count() == 0


def test_wishes_changed_elsewhere_meanwhile_are_not_overwritten(world, ada):
    ada.post(MINE, suggested(world))
    wishes.save(world.by, member_id=world.keeper.pk, expected_version=1, morning_at=time(5))
    answer = ada.post(MINE, suggested(world) | {"version": 1})
    assert answer.context["wishes_form"].non_field_errors()
    assert ReminderWishes.objects.get().morning_at == time(5)


def test_a_test_is_sent_and_the_page_says_how_it_went(world, ada):
    row = channel(world.keeper)
    answer = ada.post(reverse("channel-test", args=[row.pk]), follow=True)
    assert "Sent to ada@example.org. Look whether it has arrived." in text(answer)
    assert mail.outbox[0].subject == "A test from Hollow Farm"
    again = ada.post(reverse("channel-test", args=[row.pk]), follow=True)
    assert "Wait a minute" in text(again)


def test_a_test_that_fails_says_why_there_and_on_the_channel(world, ada, monkeypatch):
    row = channel(world.keeper)
    monkeypatch.setattr(channels, "of_kind", lambda kind: Sender(refuses("Nobody <b>there</b>.")))
    page = text(ada.post(reverse("channel-test", args=[row.pk]), follow=True))
    assert "Not sent to ada@example.org: Nobody &lt;b&gt;there&lt;/b&gt;." in page
    assert "Failed on 1 May, 12:00: Nobody &lt;b&gt;there" in page


def test_a_channel_is_switched_off_and_on_and_removed_after_asking(world, ada):
    row = channel(world.keeper)
    switch = reverse("channel-switch", args=[row.pk])
    assert "is switched off" in text(ada.post(switch, follow=True))
    assert "Send a test" not in text(ada.get(MINE)).split("Add an e-mail")[0]
    assert "is in use" in text(ada.post(switch, {"on": "1"}, follow=True))
    remove = reverse("channel-remove", args=[row.pk])
    assert "Remove ada@example.org?" in text(ada.get(remove))
    assert Channel.objects.count() == 1
    assert "Removed: ada@example.org." in text(ada.post(remove, follow=True))
    assert Channel.objects.count() == 0


def test_a_keeper_sets_those_of_a_child_without_login_on_its_own_page(world, ada, kim):
    page = reverse("member-reminders", args=[kim.pk])
    assert "Reminders of Kim" in text(ada.get(page))
    assert "data-push-key" not in text(ada.get(page))
    answer = ada.post(page, {"do": "email", "email-address": "kim@example.org"}, follow=True)
    assert answer.redirect_chain[-1][0] == page
    row = Channel.objects.get()
    assert row.member == kim
    for name in ("channel-test", "channel-switch"):
        answer = ada.post(reverse(name, args=[row.pk]), follow=True)
        assert answer.redirect_chain[-1][0] == page
    assert page in text(ada.get(reverse("channel-remove", args=[row.pk])))


def test_who_can_sign_in_is_left_to_themselves_and_ones_own_is_at_ones_own_address(world, ada):
    ben = world.add_member("Ben", "helper")
    assert ada.get(reverse("member-reminders", args=[ben.member.pk])).status_code == 404
    assert ada.get(reverse("member-reminders", args=[world.keeper.pk])).url == MINE


@pytest.mark.parametrize("role", ["helper", "child"])
def test_everybody_who_signs_in_has_their_own(world, client, role):
    cara = world.add_member("Cara", role)
    client.force_login(cara.login)
    client.post(MINE, {"do": "email", "email-address": "cara@example.org"})
    assert Channel.objects.get().member == cara.member
    assert client.get(reverse("member-reminders", args=[world.keeper.pk])).status_code == 403
    assert client.get(reverse("messages")).status_code == 403
    theirs = channel(world.keeper)
    assert client.post(reverse("channel-test", args=[theirs.pk])).status_code == 403


def post_browser(client, body):
    return client.post(reverse("my-browser"), body, content_type="application/json")


def test_a_browser_hands_its_subscription_over_once(world, ada):
    address = browser("https://push.example.net/abc").address()
    for _twice in range(2):
        answer = post_browser(ada, address)
        assert (answer.status_code, answer.json()) == (200, {"why": ""})
    row = Channel.objects.get()
    assert (row.kind, row.member) == ("push", world.keeper)
    assert sealing.open_sealed(row.address) == address
    assert "A browser" in text(ada.get(MINE))


@pytest.mark.parametrize("body", ["[]", "{}", '{"endpoint": "https://localhost/x", "keys": {}}', "x" * 5000])
def test_what_no_browser_wrote_is_refused_with_words(world, ada, body):
    answer = post_browser(ada, body)
    assert answer.status_code == 422
    assert answer.json()["why"].startswith("This browser's subscription can't be used.")
    assert Channel.objects.count() == 0


def test_the_page_hands_the_script_all_it_needs_by_data_attributes(world, ada):
    page = ada.get(MINE).content.decode()
    for name in (
        "data-push-key",
        "data-push-worker",
        "data-push-scope",
        "data-push-said",
        "data-push-missing",
    ):
        assert name in page
    assert 'data-push-worker="/my/worker.js"' in page
    assert 'data-push-scope="/my/"' in page
    assert 'src="/static/web/reminders.js"' in page


@pytest.fixture
def undelivered(world):
    row = message(world)
    Delivery.objects.update(state="dead", tries=5, error="The mail server was away.")
    return row


def test_keepers_see_what_did_not_arrive_with_its_reason_and_have_it_tried_again(world, ada, undelivered):
    page = text(ada.get(reverse("messages")))
    assert "For Ada, to ada@example.org, 1 May, 12:00" in page
    assert "The mail server was away." in page
    answer = ada.post(reverse("message-again", args=[undelivered.pk]), follow=True)
    assert "It is being tried again." in text(answer)
    assert "Every message has reached its channel." in text(answer)
    assert Delivery.objects.get().state == "waiting"
    assert ada.post(reverse("message-again", args=[undelivered.pk])).status_code == 422


def test_what_came_too_late_says_so_and_can_be_let_be(world, ada, undelivered):
    Delivery.objects.update(state="late", error="")
    assert "It came too late to be of use." in text(ada.get(reverse("messages")))
    ada.post(reverse("message-drop", args=[undelivered.pk]))
    assert (Delivery.objects.count(), Notice.objects.count()) == (0, 1)


def test_the_list_is_read_in_a_steady_number_of_queries(world, ada, django_assert_max_num_queries):
    for n in range(12):
        message(world, str(n))
    Delivery.objects.update(state="dead")
    with django_assert_max_num_queries(8):
        ada.get(reverse("messages"))


def test_nothing_of_another_farm_is_shown(world, elsewhere, ada):
    message(elsewhere, "secret thing")
    Delivery.objects.update(state="dead")
    assert "secret thing" not in text(ada.get(reverse("messages")))
    row = own_channels.add(
        elsewhere.by, member_id=elsewhere.keeper.pk, kind="email", address="bea@example.org"
    )
    for name in ("channel-test", "channel-switch", "channel-remove"):
        assert ada.post(reverse(name, args=[row.pk])).status_code == 404
    assert "bea@example.org" not in text(ada.get(MINE))
