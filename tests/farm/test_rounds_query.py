"""What each member has to do: by the rota their own, without one all they may do, and what nobody has for keepers."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.models import Assignment, RotaRules
from farm.planning.window import Window
from farm.queries import agenda, rounds
from farm.services import chores, members, own_chores, postponing, rota
from tests.conftest import TODAY, World
from tests.farm.judging import day
from tests.farm.rota_world import able, adult, key, people


@pytest.fixture
def who(world: World):
    found = people(world)
    world.add_batch("Browns", housing="Brooder 1")
    return found


def with_rota(world: World, given=(), weeks=1):
    """A rota in which people have exactly what is `given`: (occurrence, actors)."""
    rota.start(world.by, weeks=weeks)
    for (source, due, round), actors in given:
        for seat, by in enumerate(actors):
            Assignment.objects.create(
                farm=world.farm, source=source, due=due, round=round, seat=seat, member=by.member, day=due
            )


def shares(by, start=TODAY, days=1, today=TODAY):
    return {
        share.due.item.occurrence: share for share in rounds.of_member(by.member, Window(start, days), today)
    }


def tick(by, of, **more):
    source, due, round = of
    chores.mark(by, source=source, due=due, round=round, title="Done", **more)


def test_without_a_rota_everybody_sees_what_they_may_do(world, who):
    every = {due.item.occurrence for due in agenda.on_day(world.farm, TODAY, TODAY).due}
    assert set(shares(who["Ada"])) == set(shares(who["Ben"])) == every
    cara = {share.due.item.job for share in shares(who["Cara"]).values()}
    assert {"feed_water", "clean_drinkers"} <= cara
    assert not cara & {"heat_check", "heat_lower", "look"}
    assert all(share.mine and not share.nobody for share in shares(who["Cara"]).values())


def test_without_a_rota_what_is_ticked_stays_on_the_list_with_its_tick(world, who):
    tick(who["Ben"], key(world, "look"))
    assert shares(who["Ada"])[key(world, "look")].due.mark.member == who["Ben"].member


def test_with_a_rota_each_sees_their_own_and_only_that(world, who):
    look, feed = key(world, "look"), key(world, "feed_water")
    with_rota(world, [(look, [who["Ben"]]), (feed, [who["Cara"]])])
    assert list(shares(who["Ben"])) == [look]
    assert list(shares(who["Cara"])) == [feed]
    assert shares(who["Ben"])[look].mine
    assert look not in shares(who["Ada"])


def test_what_nobody_has_keepers_see_who_may_do_it(world, who):
    with_rota(world, [(key(world, "look"), [who["Ben"]])])
    able(who["Ada"], can_heat=False)
    found = shares(who["Ada"])
    assert found[key(world, "feed_water")].nobody
    assert not found[key(world, "feed_water")].mine
    assert key(world, "heat_check") not in found
    assert list(shares(who["Ben"])) == [key(world, "look")]


def test_what_two_do_names_the_other(world, who):
    chore = own_chores.add(world.by, title="Move the coop", start=TODAY, minutes=20, two_people=True)
    job = f"own:{chore.pk}/own_chore", TODAY, "morning"
    with_rota(world, [(job, [who["Ben"], who["Ada"]])])
    assert shares(who["Ben"])[job].others == ("Ada",)
    assert shares(who["Ada"])[job].others == ("Ben",)


def test_what_takes_no_time_is_for_keepers_and_not_missed_by_anybody(world, who):
    with_rota(world)
    window = Window(TODAY, 60)
    free = [item.occurrence for item in agenda.for_farm(world.farm, window, TODAY) if not item.minutes]
    RotaRules.objects.update(weeks=8)
    found = {
        share.due.item.occurrence: share for share in rounds.of_member(world.keeper, Window(TODAY, 50), TODAY)
    }
    told = [found[each] for each in free if each in found]
    assert all(not share.nobody and not share.mine for share in told)
    assert not set(free) & set(shares(who["Ben"], days=50))


def test_days_the_rota_does_not_reach_miss_nobody(world, who):
    with_rota(world, weeks=1)
    assert {share.due.item.due for share in shares(who["Ada"], start=day(5), days=5).values()} == {
        day(5),
        day(6),
    }


def test_what_was_ticked_is_still_its_persons_and_what_nobody_had_its_tickers(world, who):
    look, feed = key(world, "look"), key(world, "feed_water")
    with_rota(world, [(look, [who["Ben"]])])
    tick(who["Ada"], look)
    tick(who["Cara"], feed)
    assert shares(who["Ben"])[look].due.mark.member == who["Ada"].member
    mine = shares(who["Cara"])[feed]
    assert (mine.mine, mine.nobody) == (False, False)
    assert not {look, feed} & set(shares(who["Ada"]))


def test_a_step_still_open_from_before_comes_first_for_whoever_had_it(world, who):
    window = Window(day(-1), 1)
    (step,) = (i for i in agenda.for_farm(world.farm, Window(TODAY, 1), TODAY) if i.job == "heat_lower")
    with_rota(world, [(step.occurrence, [who["Ben"]])])
    tomorrow = shares(who["Ben"], start=day(1), today=day(1))
    assert next(iter(tomorrow)) == step.occurrence
    assert tomorrow[step.occurrence].mine
    assert step.occurrence not in shares(who["Ada"], start=day(1), today=day(1))
    assert step.occurrence not in shares(who["Ben"], start=day(2), today=day(1))
    assert window.end == TODAY


def test_a_step_open_from_before_that_nobody_had_is_for_keepers(world, who):
    (step,) = (i for i in agenda.for_farm(world.farm, Window(TODAY, 1), TODAY) if i.job == "heat_lower")
    with_rota(world)
    assert shares(who["Ada"], start=day(1), today=day(1))[step.occurrence].nobody
    assert step.occurrence not in shares(who["Ben"], start=day(1), today=day(1))


def test_routine_missed_on_a_past_day_is_nobodys_any_more(world, who):
    with_rota(world)
    found = shares(who["Ada"], start=day(-3), days=2)
    assert {share.due.item.kind for share in found.values()} <= {"step"}


def test_what_was_put_off_is_on_its_new_day_with_whoever_had_it(world, who):
    (step,) = (i for i in agenda.for_farm(world.farm, Window(TODAY, 1), TODAY) if i.job == "heat_lower")
    with_rota(world, [(step.occurrence, [who["Ben"]])])
    source, due, round = step.occurrence
    postponing.put_off(world.by, source=source, due=due, round=round, to_due=day(1), to_round="evening")
    assert step.occurrence not in shares(who["Ben"])
    moved = shares(who["Ben"], start=day(1))[step.occurrence]
    assert (moved.due.item.due, moved.due.item.round) == (day(1), "evening")


def test_what_somebody_who_left_had_is_nobodys(world, who):
    look = key(world, "look")
    with_rota(world, [(look, [who["Ben"]])])
    members.leave(world.by, member_id=who["Ben"].member.pk)
    assert shares(who["Ada"])[look].nobody


@pytest.mark.parametrize(
    ("job", "fields", "may"),
    [
        ("feed_water", {"role": "child", "adult": False}, True),
        ("look", {"role": "child"}, False),
        ("look", {"role": "helper"}, True),
        ("heat_check", {"role": "helper", "adult": False}, False),
        ("heat_check", {"role": "helper", "adult": True, "can_heat": False}, False),
        ("heat_check", {"role": "helper", "adult": True, "can_heat": True}, True),
    ],
)
def test_who_may_do_what(world, who, job, fields, may):
    from farm.models import Member

    (item, *_) = (i for i in agenda.for_farm(world.farm, Window(TODAY, 1), TODAY) if i.job == job)
    assert rounds.may_do(Member(name="Eve", **fields), item) is may


def test_read_once_for_all_members_it_says_the_same_of_each(world, who, django_assert_max_num_queries):
    with_rota(world, [(key(world, "look"), [who["Ben"]])])
    window = Window(TODAY, 3)
    alone = {name: rounds.of_member(by.member, window, TODAY) for name, by in who.items()}
    for number in range(5):
        adult(world, f"Helper {number}")
    with django_assert_max_num_queries(35):
        read = rounds.read(world.farm, window, TODAY)
        together = {name: read.of(by.member) for name, by in who.items()}
    assert together == alone


def test_another_farms_work_is_not_in_it(world, elsewhere, who):
    elsewhere.add_housing("Theirs")
    elsewhere.add_batch("Strange", housing="Theirs")
    assert {share.due.item.room_name for share in shares(who["Ada"], days=7).values()} == {"Brooder 1"}
    assert TODAY + timedelta(days=1) == day(1)
