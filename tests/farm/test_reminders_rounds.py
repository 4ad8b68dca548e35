"""Before a round everybody with something to do in it hears of it, once, at their time, wherever the clocks stand."""

from datetime import time

import pytest

from farm.errors import NotFound
from farm.models import Away, Delivery, Farm, Member, Notice, ReminderClock, ReminderWishes
from farm.planning.window import Window
from farm.queries import agenda
from farm.queries import reminders as read
from farm.queries import rounds as shares
from farm.services.reminders import clock, look, wishes
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
    states,
    step,
    subjects,
    tick,
    told,
)
from tests.farm.reminders_world import wishes as wished

MORNING = {"morning_at": "06:30"}


@pytest.fixture
def early(world):
    """Ada, who wants to hear of the morning round at half past six; chicks in Brooder 1; first looked at at five."""
    chicks(world)
    told(world.by, **MORNING)
    begin(world, at("05:00"))
    return world


def test_a_digest_says_what_where_how_long_and_what_to_mind(early):
    step(early, at("06:30"))
    (notice,) = Notice.objects.all()
    assert (notice.kind, notice.key, notice.url) == ("round", "2026-05-01/morning", "/my/?day=2026-05-01")
    due = agenda.on_day(early.farm, TODAY, TODAY).due
    morning = [one.item for one in due if one.item.round == "morning"]
    minutes = sum(item.minutes for item in morning)
    assert notice.subject == f"Morning round, Fri 1 May: {len(morning)} chores, {minutes} minutes"
    lines = notice.body.splitlines()
    assert lines[0].startswith("Brooder 1: ")
    assert "Feed and water" in lines[0]
    assert lines[-1].startswith("Mind: ")
    assert lines[-1].count("Mind") == 1


def test_it_is_one_message_a_round_and_leads_to_the_round(early):
    step(early, at("06:30"))
    assert [who for who, _subject in letters()] == ["ada"]


def test_before_its_time_nothing_is_said_and_the_next_look_is_at_its_time(early):
    assert begin(early, at("06:29")) == at("06:30")
    assert Notice.objects.count() == 0


def test_looked_at_again_and_again_it_is_made_once_and_sent_once(early):
    for minutes in range(0, 90, 15):
        step(early, at("06:30") + minutes * MINUTE)
    assert (Notice.objects.count(), len(letters())) == (1, 1)


def test_when_nothing_is_to_do_nothing_is_said(world):
    told(world.by, **MORNING)
    begin(world, at("05:00"))
    step(world, at("06:30"))
    assert subjects(world.by) == []


def test_what_is_ticked_already_is_not_said(early):
    for due in agenda.on_day(early.farm, TODAY, TODAY).due:
        if due.item.round == "morning":
            tick(early, due.item, at("06:00"))
    step(early, at("06:30"))
    assert subjects(early.by) == []


def test_a_time_after_the_round_means_the_evening_before(world):
    chicks(world)
    told(world.by, morning_at="20:00")
    begin(world, at("19:00"))
    step(world, at("20:00"))
    assert Notice.objects.get().key == "2026-05-02/morning"


def test_each_member_is_told_of_their_own_rounds_alone(world):
    chicks(world)
    people = rota_world.people(world)
    rota_world.begin(world, at=at("05:00"))
    for by in people.values():
        told(by, **MORNING)
    begin(world, at("05:00"))
    step(world, at("06:30"))
    of = {by.member.pk: name for name, by in people.items()}
    given = {
        of[pk] for key, pks in rota_world.rows(world).items() if key[1:] == (TODAY, "morning") for pk in pks
    }
    assert {who.capitalize() for who, _subject in letters()} == given
    assert given < set(people)


def test_what_nobody_has_is_told_to_keepers_and_said_to_be_nobodys(world):
    chicks(world)
    people = rota_world.people(world)
    for name in ("Ben", "Cara"):
        told(people[name], **MORNING)
    told(people["Ada"], **MORNING)
    Member.objects.update(rounds=[])  # nobody is ever there
    rota_world.begin(world, at=at("05:00"))
    begin(world, at("05:00"))
    step(world, at("06:30"))
    (notice,) = Notice.objects.all()
    assert notice.member == world.keeper
    assert notice.body.startswith("Nobody has these yet:\nBrooder 1: ")


def test_a_child_is_told_only_of_what_a_child_may_do(world):
    chicks(world)
    child = world.add_member("Cara", "child")
    told(child, **MORNING)
    begin(world, at("05:00"))
    step(world, at("06:30"))
    (notice,) = Notice.objects.all()
    assert "heat" not in notice.body.lower().replace("heat lamps", "")
    assert "Feed and water" in notice.body


def test_who_is_away_is_left_alone(early):
    Away.objects.create(farm=early.farm, member=early.keeper, start=TODAY, end=TODAY + DAY)
    step(early, at("06:30"))
    assert subjects(early.by) == []
    step(early, at("06:30", 1))
    assert len(subjects(early.by)) == 1


@pytest.mark.parametrize("how", ["no channel", "switched off", "left", "no wishes"])
def test_who_cannot_or_will_not_be_told_is_not(world, how):
    chicks(world)
    if how != "no wishes":
        wished(world.keeper, **MORNING)
    if how != "no channel":
        channel(world.keeper, on=how != "switched off")
    if how == "left":
        Member.objects.filter(pk=world.keeper.pk).update(left_on=TODAY)
    begin(world, at("05:00"))
    step(world, at("06:30"))
    assert Notice.objects.count() == 0


def test_two_channels_are_two_deliveries_of_one_message(early):
    channel(early.keeper)
    step(early, at("06:30"))
    assert (Notice.objects.count(), states(early.farm)) == (1, ["sent", "sent"])


def test_a_machine_that_was_off_still_tells_what_is_of_use(early):
    step(early, at("09:59"))
    assert len(letters()) == 1


def test_what_is_of_no_use_any_more_is_kept_as_too_late_and_not_sent(early):
    step(early, at("10:00"))
    assert (letters(), states(early.farm)) == ([], ["late"])


def test_a_machine_that_was_off_for_weeks_floods_nobody(early):
    ReminderWishes.objects.update(midday_at=time(12), evening_at=time(18), missed=True)
    step(early, at("09:00", 21))
    sent = [subject for _who, subject in letters()]
    assert len(sent) == 2  # the round, and that it is late
    assert all("Fri 22 May" in subject for subject in sent)
    assert Notice.objects.count() <= 4  # of the last day, most of them too late


def test_quiet_hours_hold_a_reminder_back_and_do_not_lose_it(world):
    chicks(world)
    told(world.by, morning_at="06:30", quiet_from="21:00", quiet_to="08:00")
    begin(world, at("05:00"))
    assert begin(world, at("06:30")) == at("08:00")
    step(world, at("08:00"))
    (notice,) = Notice.objects.all()
    assert (notice.due_at, len(letters())) == (at("08:00"), 1)


def test_quiet_hours_that_end_long_after_the_round_do_not_lose_it_either(world):
    chicks(world)
    told(world.by, morning_at="06:30", quiet_from="06:00", quiet_to="14:00")
    begin(world, at("05:00"))
    step(world, at("14:00"))
    assert len(letters()) == 1


def test_wishes_saved_now_do_not_bring_up_what_is_past(world):
    chicks(world)
    channel(world.keeper)
    begin(world, at("05:00"))
    by = rota_world.able(world.by)
    late = type(by)(**{name: getattr(by, name) for name in by.__slots__} | {"now": at("12:10")})
    wishes.save(
        late, member_id=world.keeper.pk, expected_version=None, midday_at=time(12, 0), evening_at=time(18)
    )
    step(world, at("12:11"))
    assert subjects(world.by) == []
    assert ReminderClock.objects.get().next_at <= at("18:00")


def test_wishes_saved_bring_an_earlier_reminder_forward(early):
    by = type(early.by)(**{n: getattr(early.by, n) for n in early.by.__slots__} | {"now": at("07:00")})
    assert begin(early, at("07:00")) > at("17:30")
    row = ReminderWishes.objects.get()
    wishes.save(by, member_id=early.keeper.pk, expected_version=row.version, evening_at=time(17, 30))
    assert clock.to_look_at(at("07:00")) == [early.farm.pk]
    assert begin(early, at("07:01")) == at("17:30")


def test_the_farms_own_times_changed_move_what_comes_next(early):
    from farm.services import farms

    ReminderWishes.objects.update(morning_at=None, missed=True)
    begin(early, at("06:00"))
    farm = Farm.objects.get(pk=early.farm.pk)
    values = {name: getattr(farm, name) for name in farms.SETTINGS} | {"morning_at": time(5, 0)}
    by = type(early.by)(**{n: getattr(early.by, n) for n in early.by.__slots__} | {"now": at("06:10")})
    farms.change(by, expected_version=farm.version, **values)
    assert begin(early, at("06:11")) == at("06:30")  # 90 minutes after five


def test_a_farm_that_is_gone_is_not_found(db):
    with pytest.raises(NotFound):
        look.look(farm_id=404, now=at("06:30"))


def test_a_farm_nobody_is_told_anything_on_is_looked_at_once_a_day(world):
    assert begin(world, at("06:30")) == at("06:30", 1)


def test_an_index_names_the_farms_that_are_due_and_new_ones(world, elsewhere):
    assert clock.to_look_at(at("05:00")) == []
    channel(world.keeper)
    channel(elsewhere.keeper)
    assert sorted(clock.to_look_at(at("05:00"))) == sorted([world.farm.pk, elsewhere.farm.pk])
    wished(world.keeper, **MORNING)
    begin(world, at("05:00"))
    begin(elsewhere, at("05:00"))
    assert clock.to_look_at(at("06:29")) == []
    assert clock.to_look_at(at("06:30")) == [world.farm.pk]


def test_nothing_of_one_farm_is_told_on_another(world, elsewhere):
    chicks(world)
    told(world.by, **MORNING)
    told(elsewhere.by, **MORNING)
    for one in (world, elsewhere):
        begin(one, at("05:00"))
    for one in (world, elsewhere):
        step(one, at("06:30"))
    assert {notice.member_id for notice in Notice.objects.all()} == {world.keeper.pk}
    assert set(Delivery.objects.values_list("channel__member_id", flat=True)) == {world.keeper.pk}


def test_the_work_read_once_for_all_is_what_each_members_own_page_shows(world):
    chicks(world)
    people = rota_world.people(world)
    rota_world.begin(world, at=at("05:00"))
    for first in (TODAY, TODAY + 3 * DAY):
        work = read.work(world.farm, first, 2, TODAY)
        for by in people.values():
            member = Member.objects.get(pk=by.member.pk)
            own = [one for one in shares.of_member(member, Window(first, 2), TODAY) if one.due.open]
            seen = {(task.item.occurrence, task.nobody) for n in (0, 1) for name in ("morning", "midday", "evening")
                    for task in work.of(member, first + n * DAY, name)}  # fmt: skip
            assert seen == {(one.due.item.occurrence, one.nobody) for one in own if one.due.item.due >= first}


def test_a_look_costs_a_steady_number_of_queries_however_many_people(world, django_assert_max_num_queries):
    chicks(world)
    told(world.by, **MORNING)
    for n in range(8):
        told(world.add_member(f"P{n}", "helper"), **MORNING)
    begin(world, at("05:00"))
    with django_assert_max_num_queries(45):
        begin(world, at("06:30"))
    assert Notice.objects.count() == 9
