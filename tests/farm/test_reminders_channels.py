"""A member's channels and wishes: added, tried out, switched off, removed; secrets stay secret; keepers mend."""

import json
from datetime import time, timedelta

import pytest
from django.core import mail

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import Change, Channel, Delivery, Farm, HistoryEntry, Notice, ReminderClock, ReminderWishes
from farm.queries import reminders as read
from farm.services import channels, history, members, upkeep
from farm.services.channels import sealing
from farm.services.reminders import dead, own_channels, sending, wishes
from tests.conftest import NOON, TODAY, actor
from tests.farm.reminders_world import DAY, HOUR, MINUTE, Sender, channel, letters, refuses, states
from tests.farm.test_reminders_sending import message

SUBSCRIPTION = {"endpoint": "https://push.example.net/abc", "keys": {"p256dh": "k", "auth": "a"}}


def add(by, address="ada@example.org", kind="email", member=None):
    member = member or by.member
    return own_channels.add(by, member_id=member.pk, kind=kind, address=address)


@pytest.fixture
def any_address(monkeypatch):
    """Take every address for good, whatever its kind."""

    class Takes(Sender):
        def check(self, address):
            return "push.example.net"

    takes = Takes()
    monkeypatch.setattr(channels, "of_kind", lambda kind: takes)
    return takes


def test_an_e_mail_address_is_kept_sealed_and_shown_by_its_label(world):
    row = add(world.by)
    assert (row.label, row.on, row.worked_at) == ("ada@example.org", True, None)
    assert "ada" not in row.address
    assert sealing.open_sealed(row.address) == "ada@example.org"


def test_the_history_says_that_it_was_added_and_never_where_it_leads(world, any_address):
    row = add(world.by, "tgram://SECRET-TOKEN/12345", "service")
    own_channels.switch(world.by, channel_id=row.pk, on=False)
    own_channels.remove(world.by, channel_id=row.pk)
    entries = HistoryEntry.objects.filter(verb__contains="channel").order_by("pk")
    assert [entry.summary for entry in entries] == [
        "Ada can be told by a push service",
        "Ada is not told by a push service",
        "Ada is no longer told by a push service",
    ]
    kept = json.dumps(list(Change.objects.values_list("before", "after")))
    for secret in ("SECRET", "12345", row.address, row.label):
        assert secret not in kept


def test_a_channel_is_not_undone_but_changed_again(world):
    add(world.by)
    entry = HistoryEntry.objects.get(verb="add channel")
    assert not history.can_undo(entry)
    with pytest.raises(BadInput, match="change it again"):
        history.undo(world.by, entry_id=entry.pk)


@pytest.mark.parametrize(
    "kind, address, field", [("email", "nobody", "address"), ("email", " ", "address"), ("fax", "1", "kind")]
)
def test_what_cannot_be_an_address_is_refused_by_its_field(world, kind, address, field):
    with pytest.raises(BadInput) as refused:
        add(world.by, address, kind)
    assert list(refused.value.fields) == [field]
    assert Channel.objects.count() == 0


def test_the_same_address_again_is_the_channel_that_is_there_switched_on(world):
    row = add(world.by)
    own_channels.switch(world.by, channel_id=row.pk, on=False)
    assert add(world.by).pk == row.pk
    assert Channel.objects.get().on


def test_a_browser_that_subscribes_again_with_new_keys_is_the_same_browser(world, any_address):
    row = add(world.by, json.dumps(SUBSCRIPTION), "push")
    again = SUBSCRIPTION | {"keys": {"p256dh": "other", "auth": "other"}}
    assert add(world.by, json.dumps(again), "push").pk == row.pk
    kept = json.loads(sealing.open_sealed(Channel.objects.get().address))
    assert kept["keys"]["auth"] == "other"  # the old keys open nothing any more


def test_ten_channels_are_enough(world):
    for n in range(10):
        add(world.by, f"a{n}@example.org")
    with pytest.raises(BadInput, match="remove a channel"):
        add(world.by, "b@example.org")


@pytest.mark.parametrize("role", ["helper", "child"])
def test_everybody_sets_their_own_and_nobody_anothers(world, role):
    other = world.add_member("Cara", role)
    row = add(other)
    mine = add(world.by)
    assert read.of_member(other.member) == [row]
    for act in (
        lambda: add(other, member=world.keeper),
        lambda: own_channels.remove(other, channel_id=mine.pk),
        lambda: own_channels.switch(other, channel_id=mine.pk, on=False),
        lambda: own_channels.try_out(other, channel_id=mine.pk, now=lambda: NOON),
        lambda: wishes.save(other, member_id=world.keeper.pk, expected_version=None, changed=False),
    ):
        with pytest.raises(NotAllowed):
            act()


def test_a_keeper_sets_those_of_whoever_cannot_sign_in_and_of_nobody_else(world):
    child = members.add(world.by, name="Kim", role="child")
    other = world.add_member("Ben", "helper")
    row = own_channels.add(world.by, member_id=child.pk, kind="email", address="kim@example.org")
    wishes.save(world.by, member_id=child.pk, expected_version=None, morning_at=time(7))
    own_channels.remove(world.by, channel_id=row.pk)
    with pytest.raises(NotFound, match="themselves"):
        own_channels.add(world.by, member_id=other.member.pk, kind="email", address="ben@example.org")


def test_nobody_reaches_into_another_farm(world, elsewhere):
    theirs = add(elsewhere.by)
    for act in (
        lambda: own_channels.remove(world.by, channel_id=theirs.pk),
        lambda: own_channels.try_out(world.by, channel_id=theirs.pk, now=lambda: NOON),
        lambda: add(world.by, member=elsewhere.keeper),
    ):
        with pytest.raises(NotFound):
            act()


def test_a_test_is_sent_at_once_over_that_channel_alone(world):
    row = add(world.by)
    add(world.by, "other@example.org")
    delivery = own_channels.try_out(world.by, channel_id=row.pk, now=lambda: NOON)
    assert delivery.state == "sent"
    assert letters() == [("ada", "A test from Hollow Farm")]


def test_a_test_that_fails_says_why_and_is_not_tried_again(world, any_address):
    any_address.answers = [refuses("Nobody there.")]
    row = add(world.by, "x", "service")
    delivery = own_channels.try_out(world.by, channel_id=row.pk, now=lambda: NOON)
    assert (delivery.state, delivery.error) == ("dead", "Nobody there.")
    row.refresh_from_db()
    assert row.failure == "Nobody there."


def test_one_test_a_minute_is_enough(world):
    row = add(world.by)
    own_channels.try_out(world.by, channel_id=row.pk, now=lambda: NOON)
    with pytest.raises(BadInput, match="Wait a minute"):
        own_channels.try_out(world.by, channel_id=row.pk, now=lambda: NOON)
    later = actor(world.farm, world.keeper, NOON + MINUTE)
    own_channels.try_out(later, channel_id=row.pk, now=lambda: later.now)
    assert len(mail.outbox) == 2


def test_wishes_are_saved_once_and_changed_with_their_version(world):
    row = wishes.save(
        world.by, member_id=world.keeper.pk, expected_version=None, **wishes.suggested(world.farm)
    )
    assert (row.morning_at, row.quiet_from, row.version) == (time(6, 30), time(21, 30), 1)
    again = wishes.save(world.by, member_id=world.keeper.pk, expected_version=1, missed=False)
    assert (again.version, again.missed, again.changed) == (2, False, True)
    with pytest.raises(Stale):
        wishes.save(world.by, member_id=world.keeper.pk, expected_version=1, missed=True)


@pytest.mark.parametrize("bad", [{"quiet_from": time(21)}, {"outlook_weekday": 7}])
def test_wishes_that_cannot_be_are_refused(world, bad):
    with pytest.raises(BadInput):
        wishes.save(world.by, member_id=world.keeper.pk, expected_version=None, **bad)
    assert ReminderWishes.objects.count() == 0


def test_a_wish_nobody_knows_is_a_slip_of_the_caller(world):
    with pytest.raises(TypeError, match="colour"):
        wishes.save(world.by, member_id=world.keeper.pk, expected_version=None, colour="red")


def test_what_is_suggested_is_half_an_hour_before_each_round_also_round_midnight(world):
    Farm.objects.update(morning_at=time(0, 10), first_weekday=6)
    found = wishes.suggested(Farm.objects.get(pk=world.farm.pk))
    assert (found["morning_at"], found["midday_at"], found["evening_at"]) == (
        time(23, 40),
        time(12),
        time(18),
    )
    assert found["outlook_weekday"] == 5


def test_a_channel_or_a_wish_has_the_farm_looked_at_and_without_a_channel_there_is_no_need(world):
    wishes.save(world.by, member_id=world.keeper.pk, expected_version=None, morning_at=time(7))
    assert ReminderClock.objects.count() == 0
    add(world.by)
    assert ReminderClock.objects.get().next_at == NOON


@pytest.fixture
def undelivered(world):
    row = message(world)
    Delivery.objects.filter(pk=row.pk).update(state="dead", tries=5, error="Nobody there.")
    return row


def test_a_keeper_sees_what_did_not_arrive_and_has_it_tried_again(world, undelivered):
    assert [one.pk for one in read.undelivered(world.farm.pk)] == [undelivered.pk]
    late = actor(world.farm, world.keeper, NOON + 30 * DAY)
    dead.try_again(late, delivery_id=undelivered.pk)
    assert sending.send_waiting(farm_id=world.farm.pk, now=lambda: late.now) == 1
    assert letters() == [("ada", "Subject 1")]
    assert read.undelivered(world.farm.pk) == []


def test_tried_again_it_has_all_its_tries_and_says_again_when_it_was_lost_before(
    world, undelivered, any_address
):
    Delivery.objects.update(claimed_at=NOON, error="Sending was broken off 5 times.")
    any_address.answers = [refuses()]
    dead.try_again(world.by, delivery_id=undelivered.pk)
    sending.send_waiting(farm_id=world.farm.pk, now=lambda: NOON)
    undelivered.refresh_from_db()
    assert (undelivered.state, undelivered.tries) == ("waiting", 1)
    sending.send_waiting(farm_id=world.farm.pk, now=lambda: NOON + MINUTE)
    assert any_address.sent[0][1].subject == "Again: Subject 1"


def test_what_is_given_up_is_off_the_list(world, undelivered):
    dead.give_up(world.by, delivery_id=undelivered.pk)
    assert (states(world.farm), Notice.objects.count()) == ([], 1)


@pytest.mark.parametrize("act", [dead.try_again, dead.give_up])
def test_only_keepers_and_only_what_did_not_arrive(world, elsewhere, undelivered, act):
    with pytest.raises(NotAllowed):
        act(world.add_member("Ben", "helper"), delivery_id=undelivered.pk)
    with pytest.raises(NotFound):
        act(elsewhere.by, delivery_id=undelivered.pk)
    Delivery.objects.update(state="sent")
    with pytest.raises(BadInput, match="has arrived"):
        act(world.by, delivery_id=undelivered.pk)


def test_what_was_told_sixty_days_ago_is_cleared_away(world, undelivered):
    message(world, "2")
    Notice.objects.filter(key="1").update(due_at=NOON - timedelta(days=60, seconds=1))
    upkeep.clear_expired(now=NOON)
    assert [notice.key for notice in Notice.objects.all()] == ["2"]
    assert Delivery.objects.count() == 1


def test_a_label_is_shown_and_an_address_is_not_in_what_a_row_says_of_itself(world):
    row = channel(world.keeper, "service", label="Telegram")
    assert str(row) == "Telegram"
    assert row.address not in repr(row)
    assert (world.by.today, timedelta(hours=1)) == (TODAY, HOUR)
