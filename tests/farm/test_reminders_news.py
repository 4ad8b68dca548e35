"""The week ahead, swaps and alerts as messages."""

from datetime import timedelta

import pytest
from django.core import mail

from farm.models import Alert, Member, Notice, Swap
from farm.models.notice import ChannelKind
from farm.services import alerts, stays
from farm.services.reminders import alarms, sending
from farm.services.reminders.swaps import swap_news
from farm.web.alerts import letters as letter_box
from tests.conftest import NOON, TODAY
from tests.farm import rota_world
from tests.farm.judging import day
from tests.farm.reminders_world import HOUR, Sender, at, begin, channel, chicks, letters, step, told
from tests.farm.weather_world import forecast, settle

FRIDAY = 4


@pytest.fixture
def week(world):
    """Ada, who hears of the week ahead on Friday at six; chicks in Brooder 1 that move on Monday."""
    batch = world.add_batch("Browns", housing="Brooder 1")
    places = {"from_id": world.housing["Brooder 1"].pk, "to_id": world.housing["Brooder 2"].pk}
    stays.move(world.by, batch_id=batch.pk, birds=40, day=day(3), **places)
    told(world.by, outlook_weekday=FRIDAY, outlook_at="18:00")
    begin(world, at("17:00"))
    return world


def test_the_week_ahead_has_each_days_rounds_with_minutes_and_what_happens(week):
    step(week, at("18:00"))
    (notice,) = Notice.objects.all()
    assert (notice.key, notice.subject) == ("week/2026-05-02", "Your week from Sat 2 May")
    rounds, events = notice.body.split("\n\n")
    assert rounds.splitlines()[0] == "Your rounds:"
    assert [line.split(":")[0] for line in rounds.splitlines()[1:]] == [
        *("Sat 2 May", "Sun 3 May", "Mon 4 May", "Tue 5 May", "Wed 6 May", "Thu 7 May", "Fri 8 May"),
    ]
    assert "Morning round" in rounds
    assert "minutes" in rounds
    assert events.splitlines()[0] == "On the farm:"
    assert any(line.startswith("Mon 4 May: ") and "Brooder 2" in line for line in events.splitlines())


def test_it_comes_once_a_week(week):
    now = at("17:00")
    for hours in range(0, 24 * 8, 6):
        step(week, now + hours * HOUR)
    assert [notice.key for notice in Notice.objects.order_by("due_at")] == [
        "week/2026-05-02",
        "week/2026-05-09",
    ]


def test_late_it_is_still_of_use_for_a_day(week):
    step(week, at("17:59", 1))
    assert len(letters()) == 1


def test_keepers_see_what_nobody_has_and_helpers_do_not(world):
    chicks(world)
    people = rota_world.people(world)
    for by in people.values():
        told(by, outlook_weekday=FRIDAY, outlook_at="18:00")
    Member.objects.update(rounds=[0])  # there on Monday mornings alone
    rota_world.begin(world)
    begin(world, at("17:00"))
    step(world, at("18:00"))
    bodies = dict(Notice.objects.values_list("member__name", "body"))
    assert "Nobody has these yet:\nSat 2 May, Morning round: " in bodies["Ada"]
    assert all("Nobody" not in bodies[name] for name in bodies if name != "Ada")


def test_a_week_without_anything_is_not_told(world):
    told(world.by, outlook_weekday=FRIDAY, outlook_at="18:00")
    begin(world, at("17:00"))
    step(world, at("18:00"))
    assert Notice.objects.count() == 0


@pytest.fixture
def swap(world):
    ben = rota_world.adult(world, "Ben")
    for member in (world.keeper, ben.member):
        channel(member)
    return Swap.objects.create(
        farm=world.farm,
        giver=world.keeper,
        taker=ben.member,
        give_day=day(1),
        give_round="morning",
        take_day=day(2),
        take_round="evening",
        offered_at=NOON,
    )


@pytest.mark.parametrize(
    "state, who, subject",
    [
        ("offered", "ben", "Ada asks you to swap a round"),
        ("withdrawn", "ben", "Ada no longer asks for a swap"),
        ("accepted", "ada", "Ben takes your round"),
        ("declined", "ada", "Ben can't take your round"),
    ],
)
def test_a_swap_is_told_to_whoever_waits_for_it_once(world, swap, state, who, subject):
    swap.state = state
    swap.save()
    for _twice in range(2):
        swap_news(swap, NOON)
    sending.send_waiting(farm_id=world.farm.pk, now=lambda: NOON)
    assert letters() == [(who, subject)]


def test_an_offer_says_what_one_would_do_and_what_they_would_do_for_it(world, swap):
    swap_news(swap, NOON)
    assert Notice.objects.get().body.splitlines() == [
        "You would do: Sat 2 May, Morning round",
        "They would do: Sun 3 May, Evening round",
    ]
    assert Notice.objects.get().expires_at == at("00:00", 3)


def test_a_gift_asks_nothing_in_return_and_quiet_hours_hold_it_back(world, swap):
    swap.take_day, swap.take_round = None, ""
    told_quiet = {"quiet_from": "11:00", "quiet_to": "13:00"}
    from tests.farm.reminders_world import wishes

    wishes(swap.taker, **told_quiet)
    swap_news(swap, NOON)
    notice = Notice.objects.get()
    assert (notice.body.count("\n"), notice.due_at) == (0, at("13:00"))


def test_who_has_no_channel_is_not_told(world, swap):
    swap.taker.channels.all().delete()
    swap_news(swap, NOON)
    assert Notice.objects.count() == 0


@pytest.fixture
def frost(world, monkeypatch):
    """Birds in an unheated pen and a night of frost to come; what leaves over channels is kept by `frost`."""
    batch = world.add_batch("Greys", age=63, housing="Brooder 1")
    places = {"from_id": world.housing["Brooder 1"].pk, "to_id": world.housing["Pen 1"].pk}
    stays.move(world.by, batch_id=batch.pk, birds=40, day=TODAY, **places)
    settle(world)
    sender = Sender()
    from farm.services import channels

    monkeypatch.setattr(channels, "of_kind", lambda kind: sender)
    forecast(world, {1: -12.0})
    alerts.refresh(farm_id=world.farm.pk, now=NOON)
    return sender


def write(world, hours=0):
    mail.outbox.clear()
    letter_box.send(farm_id=world.farm.pk, now=NOON + hours * HOUR)
    sending.send_waiting(farm_id=world.farm.pk, now=lambda: NOON + hours * HOUR)


def test_an_alert_goes_to_push_channels_beside_the_letter(world, frost):
    channel(world.keeper, ChannelKind.SERVICE)
    channel(world.keeper, ChannelKind.EMAIL)
    helper = world.add_member("Ben", "helper")
    channel(helper.member, ChannelKind.PUSH)
    write(world)
    assert len(mail.outbox) == 1
    ((_address, message),) = frost.sent
    assert message.subject == "Greys in Pen 1, cold in the night of 1 May"
    assert "-12 °C is forecast outside" in message.body
    (alert,) = Alert.objects.all()
    assert Notice.objects.get().key == f"{alert.pk}/new"


def test_a_keeper_without_a_login_gets_no_letter_and_so_hears_by_e_mail_channel(world, frost):
    other = world.add_member("Gil", "keeper", login=False)
    channel(other.member, ChannelKind.EMAIL)
    write(world)
    assert len(frost.sent) == 1


def test_what_no_longer_holds_is_taken_back_over_the_same_channels(world, frost):
    channel(world.keeper, ChannelKind.SERVICE)
    write(world)
    forecast(world, {1: 14.0})
    alerts.refresh(farm_id=world.farm.pk, now=NOON + HOUR)
    write(world, 1)
    assert [message.body for _address, message in frost.sent][1] == "This no longer holds."


def test_a_letter_that_fails_leaves_the_other_channels_told_once(world, frost, monkeypatch):
    channel(world.keeper, ChannelKind.SERVICE)

    def away(*_given):
        raise OSError("mail server away")

    with monkeypatch.context() as patched:
        patched.setattr(letter_box, "send_mail", away)
        with pytest.raises(OSError):
            letter_box.send(farm_id=world.farm.pk, now=NOON)
    write(world)
    write(world, 1)
    assert len(frost.sent) == 1
    assert Alert.objects.get().told_at == NOON


def test_nothing_to_tell_makes_nothing(world, django_assert_num_queries):
    with django_assert_num_queries(0):
        alarms.tell(farm=world.farm, new=[], over=[], now=NOON)


def test_an_alert_in_quiet_hours_waits_until_they_end(world, frost):
    from tests.farm.reminders_world import wishes

    channel(world.keeper, ChannelKind.SERVICE)
    wishes(world.keeper, quiet_from="11:00", quiet_to="13:00")
    write(world)
    assert frost.sent == []
    sending.send_waiting(farm_id=world.farm.pk, now=lambda: NOON + timedelta(hours=1))
    assert len(frost.sent) == 1
