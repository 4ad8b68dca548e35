"""Which round is now, in which order rounds stand, what is unfolded, and what is summed."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from farm.models import Farm, Member
from farm.models.member import Role
from farm.services import chores, orders
from farm.web.today import rounds
from farm.web.today.rounds import Day
from tests.conftest import NOON, TODAY, World

ROUNDS = ["morning", "midday", "evening"]


def at(hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 5, 1, hour, minute, tzinfo=UTC)


def of_day(world: World, now: datetime = NOON, offset: int = 0, unfolded: str = "") -> Day:
    with timezone.override("Europe/Berlin"):
        return rounds.of_day(world.farm, world.keeper, TODAY + timedelta(days=offset), now, TODAY, unfolded)


@pytest.fixture
def chicks(world: World) -> World:
    """Three-day-old chicks in Brooder 1: they have all three rounds."""
    world.add_batch("Spring", age=3, housing="Brooder 1")
    return world


@pytest.mark.parametrize(
    ("now", "order"),
    [
        (at(3), ["morning", "midday", "evening"]),
        (at(5), ["morning", "midday", "evening"]),
        (at(10, 29), ["morning", "midday", "evening"]),
        (at(10, 30), ["midday", "morning", "evening"]),
        (at(16, 30), ["evening", "morning", "midday"]),
        (at(21), ["evening", "morning", "midday"]),
    ],
)
def test_the_round_whose_time_has_come_stands_first(chicks: World, now: datetime, order: list[str]):
    day = of_day(chicks, now)
    assert [one.key for one in day.rounds] == order
    assert [one.key for one in day.rounds if one.current] == order[:1]
    assert [one.key for one in day.in_order] == ROUNDS


def test_only_the_round_of_now_and_earlier_ones_with_something_left_are_unfolded(chicks: World):
    assert [(one.key, one.opened) for one in of_day(chicks, at(11)).rounds] == [
        ("midday", True),
        ("morning", True),
        ("evening", False),
    ]


def test_an_earlier_round_folds_when_it_is_done(chicks: World):
    for line in of_day(chicks).rounds[0].lines:
        chores.mark(chicks.by, source=line.source, due=line.due, round=line.round, title=line.title)
    assert [(one.key, one.opened) for one in of_day(chicks, at(11)).rounds] == [
        ("midday", True),
        ("morning", False),
        ("evening", False),
    ]


def test_a_line_that_was_just_ticked_keeps_its_round_unfolded(chicks: World):
    evening = of_day(chicks).rounds[-1]
    assert not evening.opened
    assert of_day(chicks, unfolded=evening.lines[0].key).rounds[-1].opened


@pytest.mark.parametrize("offset", [-1, 1])
def test_on_another_day_every_round_is_unfolded_in_the_order_of_the_day(chicks: World, offset: int):
    day = of_day(chicks, at(16, 30), offset)
    assert [(one.key, one.current, one.opened) for one in day.rounds] == [
        (key, False, True) for key in ROUNDS
    ]


def test_the_sums_fall_by_what_is_ticked_or_left_out(chicks: World):
    before = of_day(chicks)
    first, second = before.rounds[0].lines[:2]
    for line, state in ((first, "done"), (second, "skipped")):
        chores.mark(
            chicks.by, source=line.source, due=line.due, round=line.round, title=line.title, state=state
        )
    after = of_day(chicks)
    assert (after.total, after.left) == (before.total, before.left - 2)
    assert before.minutes_left - after.minutes_left == first.minutes + second.minutes
    assert after.rounds[0].minutes == before.rounds[0].minutes


def test_a_step_left_from_yesterday_is_listed_and_stays_listed_when_it_is_caught_up_with(world: World):
    world.add_batch("Spring", age=8, housing="Brooder 1")
    (late,) = (line for line in of_day(world).before if line.item and line.item.job == "heat_lower")
    assert (late.due, late.mark) == (TODAY - timedelta(days=1), None)
    chores.mark(world.by, source=late.source, due=late.due, round=late.round, title=late.title)
    day = of_day(world)
    assert [line.mark is not None for line in day.before if line.key == late.key] == [True]
    assert late.key not in {line.key for line in day.before_left}


def test_a_day_ahead_does_not_say_that_todays_open_steps_will_still_be_open(world: World):
    world.add_batch("Spring", age=8, housing="Brooder 1")
    assert of_day(world).before
    assert of_day(world, offset=1).before == []


def test_lines_stand_by_housing_each_named_once(world: World):
    world.add_batch("Spring", age=3, housing="Brooder 1")
    world.add_batch("Late", age=9, housing="Brooder 2")
    morning = of_day(world).rounds[0]
    assert [group.place for group in morning.groups] == ["Brooder 1", "Brooder 2"]
    assert [line for group in morning.groups for line in group.lines] == list(morning.lines)
    assert not any(line.short.startswith("Brooder") for line in morning.lines if line.item)


def test_work_for_adults_only_is_not_ticked_with_the_rest(chicks: World):
    (group,) = of_day(chicks).rounds[0].groups
    alone = {line.item.job for line in group.lines if line.item and line not in group.rest}
    assert "heat_check" in alone
    assert {line.item.who for line in group.rest if line.item} <= {"child", "helper"}


def test_a_mark_outlives_the_plan_it_was_made_for(world: World):
    chores.mark(world.by, source="room:99/look", due=TODAY, round="morning", title="Old coop: Look")
    (line,) = of_day(world).rounds[0].lines
    assert (line.title, line.item, line.done) == ("Old coop: Look", None, True)


def test_a_child_finds_its_own_work_apart_from_the_others(chicks: World):
    child = chicks.add_member("Kim", Role.CHILD)
    with timezone.override("Europe/Berlin"):
        day = rounds.of_day(chicks.farm, child.member, TODAY, NOON, TODAY)
    morning = day.rounds[0]
    mine = [line.item.who for group in morning.mine for line in group.lines if line.item]
    theirs = [line.item.who for group in morning.others for line in group.lines if line.item]
    assert set(mine) == {"child"}
    assert theirs
    assert "child" not in theirs
    assert {group.key for group in morning.mine}.isdisjoint(group.key for group in morning.others)


FILLED = st.lists(st.sampled_from(ROUNDS), unique=True).map(lambda some: sorted(some, key=ROUNDS.index))


@given(
    clock=st.times(),
    filled=st.lists(st.sampled_from(ROUNDS), unique=True).map(lambda some: sorted(some, key=ROUNDS.index)),
)
def test_the_round_of_now_is_one_that_has_work(clock: time, filled: list[str]):
    farm = Farm(morning_at=time(7), midday_at=time(12, 30), evening_at=time(18, 30))
    now = datetime.combine(TODAY, clock, UTC)
    with timezone.override("UTC"):
        found = rounds.current_round(farm, now, filled)
    assert found in filled if filled else found is None


@given(asked=st.dates())
def test_a_day_near_enough_is_shown_and_any_other_is_today(asked: date):
    near = abs((asked - TODAY).days) <= 400
    assert rounds.day_asked(asked.isoformat(), TODAY) == (asked if near else TODAY)


@given(text=st.text(max_size=12))
def test_what_is_no_day_is_never_refused(text: str):
    assert abs((rounds.day_asked(text, TODAY) - TODAY).days) <= 400


def test_whom_birds_are_handed_over_to_is_not_told_to_children(chicks: World):
    line = orders.NewLine(
        from_on=TODAY, to_on=TODAY, programme="chicken_layer_brown", birds=3, age_from_days=0, age_to_days=400
    )
    orders.add(chicks.by, new=orders.NewOrder(customer="Meadow House", lines=[line]))
    child = chicks.add_member("Dot", Role.CHILD).member

    def titles(member: Member) -> str:
        with timezone.override("Europe/Berlin"):
            day = rounds.of_day(chicks.farm, member, TODAY, NOON, TODAY)
        return " ".join(line.title for one in day.rounds for line in one.lines)

    assert "Meadow House" in titles(chicks.keeper)
    assert "Meadow House" not in titles(child)
