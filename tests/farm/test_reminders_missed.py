"""A chore that birds depend on was not ticked: its people hear first, then one adult after the other, until it is."""

from datetime import timedelta

import pytest

from farm.models import Away, Member, Notice, ReminderWishes, RotaRules
from farm.planning.window import Window
from farm.queries import agenda
from farm.services.reminders import sending
from tests.conftest import TODAY
from tests.farm import rota_world
from tests.farm.reminders_world import (
    DAY,
    MINUTE,
    at,
    begin,
    channel,
    chicks,
    letters,
    pass_time,
    states,
    step,
    subjects,
    tick,
    told,
)

MISSED = {"missed": True}


def care(world, name="morning"):
    """Return what birds depend on of one of today's rounds."""
    items = agenda.for_farm(world.farm, Window(TODAY, 1), TODAY)
    return [item for item in items if item.care and item.round == name]


@pytest.fixture
def ada(world):
    """Ada alone, an adult, who wants to hear of missed chores."""
    chicks(world)
    rota_world.able(world.by, adult=True)
    told(world.by, **MISSED)
    begin(world, at("05:00"))
    return world


@pytest.fixture
def three(world):
    """Ada (keeper), Ben and Zoe (helpers), adults who all want to hear; there is no rota."""
    chicks(world)
    rota_world.able(world.by, adult=True)
    found = {"Ada": world.by, "Ben": rota_world.adult(world, "Ben"), "Zoe": rota_world.adult(world, "Zoe")}
    for by in found.values():
        told(by, **MISSED)
    begin(world, at("05:00"))
    return world


@pytest.fixture
def rota(world):
    """Ada, Ben and Cara with a rota that gives every chore of the morning to Ben."""
    chicks(world)
    people = rota_world.people(world)
    Member.objects.exclude(name="Ben").update(rounds=[])
    for by in people.values():
        told(by, **MISSED)
    rota_world.begin(world, at=at("05:00"))
    Member.objects.exclude(name="Ben").update(rounds=list(range(21)))
    begin(world, at("05:00"))
    return world


def test_ninety_minutes_after_the_round_who_is_there_hears_what_is_open(ada):
    pass_time(ada, at("05:00"), at("08:29"))
    assert letters() == []
    step(ada, at("08:30"))
    ((who, subject),) = letters()
    assert who == "ada"
    assert subject == f"Birds may be waiting: {len(care(ada))} chores not ticked, Morning round Fri 1 May"
    assert "Brooder 1: " in Notice.objects.get().body


def test_the_rota_says_how_long_to_wait(ada):
    RotaRules.objects.create(farm=ada.farm, missed_after=30)
    step(ada, at("05:01"))
    pass_time(ada, at("05:02"), at("07:30"))
    assert len(letters()) == 1


def test_only_what_birds_depend_on_is_asked_for(ada):
    for item in care(ada):
        tick(ada, item)
    assert any(one.open for one in agenda.on_day(ada.farm, TODAY, TODAY).due if one.item.round == "morning")
    pass_time(ada, at("05:00"), at("12:00"))
    assert letters() == []


def test_what_was_ticked_is_not_named(ada):
    first, *others = care(ada)
    tick(ada, first)
    step(ada, at("08:30"))
    assert f": {len(others)} chores" in letters()[0][1]


def test_then_one_adult_after_the_other_keepers_first_at_half_the_time(three):
    pass_time(three, at("05:00"), at("12:00"))
    heard = [(who, subject) for who, subject in letters() if "Morning" in subject]
    assert [who for who, _subject in heard] == ["ada", "ben", "zoe"]
    due = Notice.objects.filter(key__contains="morning").order_by("due_at").values_list("due_at", flat=True)
    assert list(due) == [at("08:30"), at("09:15"), at("10:00")]


def test_once_it_is_ticked_nobody_else_is_asked(three):
    pass_time(three, at("05:00"), at("08:40"))
    for item in care(three):
        tick(three, item, at("08:50"))
    pass_time(three, at("08:51"), at("12:00"))
    assert [who for who, _subject in letters()] == ["ada"]


def test_whose_chores_they_are_hears_first_and_that_they_are_theirs(rota):
    step(rota, at("08:30"))
    assert letters() == [
        ("ben", f"Not ticked yet: {len(care(rota))} chores of yours, Morning round Fri 1 May")
    ]
    step(rota, at("09:15"))
    ((who, subject),) = letters()
    assert (who, subject.split(":")[0]) == ("ada", "Birds may be waiting")
    step(rota, at("10:00"))
    assert letters() == []  # Cara is a child, and there is no further adult


def test_when_those_whose_it_is_cannot_be_told_the_next_adult_hears_at_once(rota):
    Member.objects.get(name="Ben").channels.update(on=False)
    step(rota, at("08:30"))
    assert [who for who, _subject in letters()] == ["ada"]


def test_who_is_away_is_passed_over(three):
    Away.objects.create(farm=three.farm, member=three.keeper, start=TODAY, end=TODAY + DAY)
    pass_time(three, at("05:00"), at("12:00"))
    assert [who for who, subject in letters() if "Morning" in subject] == ["ben", "zoe"]


def test_who_does_not_want_it_is_passed_over_and_children_are_never_asked(three):
    ReminderWishes.objects.filter(member__name="Ben").update(missed=False)
    told(world_child(three), **MISSED)
    pass_time(three, at("05:00"), at("12:00"))
    assert [who for who, subject in letters() if "Morning" in subject] == ["ada", "zoe"]


def world_child(world):
    return rota_world.child(world, "Aaron")


def test_a_machine_that_was_off_asks_once_for_what_is_still_of_use(three):
    step(three, at("10:20"))
    assert [who for who, _subject in letters()] == ["ada"]
    step(three, at("10:21"))
    assert letters() == []


def test_and_not_at_all_when_it_was_off_too_long(three):
    step(three, at("15:00", 0))
    assert [subject for _who, subject in letters() if "Morning" in subject] == []


def test_a_look_repeated_asks_nobody_twice(three):
    for minute in range(0, 40, 5):
        step(three, at("08:30") + minute * MINUTE)
    assert [who for who, _subject in letters()] == ["ada"]


def test_in_quiet_hours_it_waits_and_is_dropped_when_it_was_done_meanwhile(world):
    chicks(world)
    rota_world.able(world.by, adult=True)
    told(world.by, quiet_from="19:00", quiet_to="22:30", **MISSED)
    begin(world, at("16:00"))
    step(world, at("20:00"))
    assert (letters(), states(world.farm)) == ([], ["waiting"])
    for item in care(world, "evening"):
        tick(world, item, at("21:00"))
    step(world, at("22:30"))
    assert (letters(), states(world.farm)) == ([], [])


def test_in_quiet_hours_it_waits_and_comes_when_birds_still_wait(world):
    chicks(world)
    rota_world.able(world.by, adult=True)
    told(world.by, quiet_from="19:00", quiet_to="22:30", **MISSED)
    begin(world, at("16:00"))
    step(world, at("20:00"))
    step(world, at("22:30"))
    assert len(letters()) == 1


def test_a_message_whose_sending_failed_is_not_sent_any_more_once_it_is_done(ada, monkeypatch):
    from farm.services import channels
    from tests.farm.reminders_world import Sender, refuses

    sender = Sender(refuses())
    monkeypatch.setattr(channels, "of_kind", lambda kind: sender)
    step(ada, at("08:30"))
    for item in care(ada):
        tick(ada, item, at("08:30"))
    sending.send_waiting(farm_id=ada.farm.pk, now=lambda: at("08:32"))
    assert (sender.sent, states(ada.farm)) == ([], [])


def test_each_round_is_asked_for_by_itself(ada):
    pass_time(ada, at("05:00"), at("21:00"))
    assert [Notice.objects.filter(key__contains=name).count() for name in ("morning", "evening")] == [1, 1]
    assert len(subjects(ada.by)) == len(letters())


def test_without_a_wish_nobody_is_asked_and_no_look_is_spent_on_it(world):
    chicks(world)
    told(world.by)
    channel(world.add_member("Ben", "helper").member)
    assert begin(world, at("05:00")) == at("05:00") + timedelta(days=1)
