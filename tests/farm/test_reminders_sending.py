"""Sending: claimed once, tried again with pauses, given up with a reason, and "Again" when a worker was lost."""

from datetime import timedelta

import pytest
from django.core import mail

from farm.models import Channel, Delivery, Login, Member, Notice
from farm.queries.reminders import Reader
from farm.services import channels
from farm.services.reminders import clock, sending
from farm.services.reminders.making import Letter, make
from tests.conftest import NOON, TODAY
from tests.farm.reminders_world import HOUR, MINUTE, Sender, channel, letters, refuses, states


@pytest.fixture
def waiting(world):
    """One message to Ada that waits over one channel, of use for a day."""
    return message(world)


def message(world, key="1", kind="swap", hours=24):
    to = channel(world.keeper) if not world.keeper.channels.exists() else world.keeper.channels.get()
    letter = Letter(
        Reader(world.keeper, None, (to,)),
        kind,
        key,
        f"Subject {key}",
        "Body",
        "/my/",
        NOON,
        NOON + hours * HOUR,
    )
    (notice,) = make(world.farm, [letter], NOON, send=False)
    return Delivery.objects.get(notice=notice)


@pytest.fixture
def through(monkeypatch):
    """Have all channels answer as the test says."""

    def put(*answers):
        sender = Sender(*answers)
        monkeypatch.setattr(channels, "of_kind", lambda kind: sender)
        return sender

    return put


def send(world, when=NOON):
    return sending.send_waiting(farm_id=world.farm.pk, now=lambda: when)


def lost(delivery, when=NOON):
    """Claim as a worker does that then dies."""
    assert sending._claim(delivery.pk, when) is not None


def test_a_message_leaves_with_its_link_and_the_channel_says_that_it_worked(world, waiting):
    Channel.objects.update(failed_at=NOON, failure="old")
    assert send(world) == 1
    (letter,) = mail.outbox
    assert (letter.to, letter.subject) == (["ada@example.org"], "Subject 1")
    assert letter.body == "Body\n\nhttp://localhost:8000/my/"
    waiting.refresh_from_db()
    assert (waiting.state, waiting.tries, waiting.sent_at, waiting.error) == ("sent", 1, NOON, "")
    assert Channel.objects.values_list("worked_at", "failed_at", "failure").get() == (NOON, None, "")


def test_what_was_sent_is_not_sent_again(world, waiting):
    send(world)
    assert send(world, NOON + 5 * HOUR) == 0
    assert len(mail.outbox) == 1


def test_what_is_not_due_yet_waits(world, waiting):
    Delivery.objects.update(next_try_at=NOON + MINUTE)
    assert (send(world), clock.to_send(NOON)) == (0, [])
    assert clock.to_send(NOON + MINUTE) == [world.farm.pk]
    assert send(world, NOON + MINUTE) == 1


def test_a_channel_that_is_away_is_tried_again_after_1_4_15_and_60_minutes_and_then_given_up(
    world, waiting, through
):
    sender = through(*[refuses() for _n in range(6)])
    now, waits = NOON, []
    for _try in range(5):
        send(world, now)
        waiting.refresh_from_db()
        waits.append((waiting.next_try_at - now) / MINUTE if waiting.state == "waiting" else waiting.state)
        assert send(world, waiting.next_try_at - timedelta(seconds=1)) == 0
        now = max(now, waiting.next_try_at)
    assert waits == [1, 4, 15, 60, "dead"]
    assert (waiting.tries, waiting.error) == (5, "The mail server was away.")
    assert len(sender.answers) == 1
    assert send(world, NOON + 20 * HOUR) == 0


def test_one_that_works_the_third_time_is_sent_once_without_again(world, waiting, through):
    sender = through(refuses(), refuses(), None)
    for minutes in (0, 1, 5):
        send(world, NOON + minutes * MINUTE)
    assert [message.subject for _address, message in sender.sent] == ["Subject 1"]
    assert Channel.objects.get().failure == ""


def test_a_lasting_refusal_is_given_up_at_once_and_said_to_the_member(world, waiting, through):
    through(refuses("No such mailbox.", lasting=True))
    send(world)
    assert states(world.farm) == ["dead"]
    assert Channel.objects.values_list("failed_at", "failure").get() == (NOON, "No such mailbox.")


def test_a_service_that_asks_for_a_pause_gets_it(world, waiting, through):
    through(refuses(wait_s=1800))
    send(world)
    assert Delivery.objects.get().next_try_at == NOON + 30 * MINUTE


def test_what_has_no_use_any_more_is_not_sent(world):
    message(world, hours=1)
    send(world, NOON + HOUR)
    assert (letters(), states(world.farm)) == ([], ["late"])


@pytest.mark.parametrize("how", ["off", "left"])
def test_what_nobody_wants_any_more_is_dropped(world, waiting, how):
    if how == "off":
        Channel.objects.update(on=False)
    else:
        Member.objects.filter(pk=world.keeper.pk).update(left_on=TODAY)
    send(world)
    assert (letters(), states(world.farm)) == ([], [])


def test_a_channel_that_was_removed_takes_what_waits_with_it(world, waiting):
    Channel.objects.all().delete()
    assert (send(world), Delivery.objects.count()) == (0, 0)


def test_an_address_that_cannot_be_opened_any_more_is_given_up(world, waiting, settings):
    settings.SECRET_KEY = "another"
    send(world)
    assert states(world.farm) == ["dead"]
    assert "key has changed" in Delivery.objects.get().error


def test_a_message_its_worker_was_lost_with_is_left_alone_for_ten_minutes_and_then_sent_again(world, waiting):
    lost(waiting)
    assert (send(world, NOON + 10 * MINUTE), clock.to_send(NOON + 10 * MINUTE)) == (0, [])
    later = NOON + 10 * MINUTE + timedelta(seconds=1)
    assert clock.to_send(later) == [world.farm.pk]
    assert send(world, later) == 1
    assert letters() == [("ada", "Again: Subject 1")]


def test_again_is_not_forgotten_when_the_second_try_fails(world, waiting, through):
    lost(waiting)
    sender = through(refuses())
    send(world, NOON + 11 * MINUTE)
    send(world, NOON + 15 * MINUTE)
    assert [message.subject for _address, message in sender.sent] == ["Again: Subject 1"]


def test_a_try_that_plainly_failed_before_the_worker_was_lost_changes_nothing(world, waiting, through):
    through(refuses())
    send(world)
    lost(waiting, NOON + MINUTE)
    sender = through()
    send(world, NOON + 12 * MINUTE)
    assert sender.sent[0][1].subject == "Again: Subject 1"


def test_what_kills_its_worker_each_time_is_given_up(world, waiting):
    for n in range(5):
        lost(waiting, NOON + 11 * n * MINUTE)
    assert send(world, NOON + 60 * MINUTE) == 0
    waiting.refresh_from_db()
    assert (waiting.state, waiting.error) == ("dead", "Sending was broken off 5 times.")


def test_a_slow_worker_that_was_taken_for_dead_marks_nothing(world, waiting, monkeypatch):
    class Slow(Sender):
        def send(self, *given):
            Delivery.objects.update(claimed_at=NOON + 11 * MINUTE)  # another worker has it now
            super().send(*given)

    slow = Slow()
    monkeypatch.setattr(channels, "of_kind", lambda kind: slow)
    assert sending.send(waiting.pk, lambda: NOON) is None
    assert states(world.farm) == ["sending"]


def test_an_error_nobody_foresaw_leaves_the_message_to_be_sent_later_and_others_go_out(
    world, waiting, monkeypatch
):
    other = message(world, "2")

    class Odd(Sender):
        def send(self, address, message, timeout):
            if message.subject == "Subject 1":
                raise RuntimeError("odd")
            super().send(address, message, timeout)

    odd = Odd()
    monkeypatch.setattr(channels, "of_kind", lambda kind: odd)
    with pytest.raises(RuntimeError):
        send(world)
    send(world)
    other.refresh_from_db()
    assert (other.state, len(odd.sent)) == ("sent", 1)
    waiting.refresh_from_db()
    assert waiting.state == "sending"


def test_a_farms_job_sends_nothing_of_another_farm(world, elsewhere, waiting):
    message(elsewhere, "9")
    send(elsewhere)
    assert letters() == [("ada", "Subject 9")]
    waiting.refresh_from_db()
    assert waiting.state == "waiting"


def test_what_the_member_reads_is_in_their_language(world, waiting, through):
    seen = []

    class Reads(Sender):
        def send(self, *_given):
            from django.utils.translation import get_language

            seen.append(get_language())

    reads = Reads()
    import farm.services.channels as package

    Login.objects.update(language="de")
    original, package.of_kind = package.of_kind, lambda kind: reads
    try:
        send(world)
    finally:
        package.of_kind = original
    assert seen == ["de"]


def test_a_message_is_made_once_and_a_second_channel_needs_its_own_delivery(world):
    first, second = channel(world.keeper), channel(world.keeper, "service")
    to = Reader(world.keeper, None, (first, second))
    letter = Letter(to, "swap", "1", "S", "B", "/my/", NOON, NOON + HOUR)
    assert len(make(world.farm, [letter, letter], NOON)) == 1
    assert make(world.farm, [letter], NOON) == []
    assert (Notice.objects.count(), Delivery.objects.count()) == (1, 2)


def test_a_message_nobody_can_get_is_not_made(world):
    letter = Letter(Reader(world.keeper, None, ()), "swap", "1", "S", "B", "/my/", NOON, NOON + HOUR)
    assert make(world.farm, [letter], NOON) == []
    assert Notice.objects.count() == 0


def test_words_longer_than_a_message_may_have_are_cut(world):
    to = Reader(world.keeper, None, (channel(world.keeper),))
    letter = Letter(to, "swap", "1", "s" * 300, "b" * 9000, "/my/", NOON, NOON + HOUR)
    make(world.farm, [letter], NOON)
    notice = Notice.objects.get()
    notice.full_clean()
    assert (len(notice.subject), len(notice.body)) == (200, 8000)


def test_the_pauses_and_the_patience_fit_each_other():
    assert clock.LOST_AFTER.total_seconds() > sending.TIMEOUT_S * 5
    assert sum(sending.WAITS, timedelta()) < timedelta(hours=2)
