"""The keeper's own chores in the agenda: when they come, how long they stay, who may do them."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning import agenda
from farm.planning.agenda import AgendaOwnChore, own_chores
from farm.planning.repeats import Repeat, days
from farm.planning.window import Window
from farm.trade.cautions import cautions
from farm.trade.sources import is_known
from tests.planning.agenda_world import BROODED, REDS, day
from tests.planning.repeat_strategies import begun

MONDAY = date(2026, 6, 1)
FENCE = AgendaOwnChore("5", "Walk the fence", MONDAY)
WEEKLY = replace(FENCE, repeat=Repeat("weekly", weekdays=(0,)))
GOATS = replace(FENCE, key="6", title="Milk the goats", repeat=Repeat("daily"), care=True)


def ask(*own, start=MONDAY, days=30, **fields):
    return agenda.agenda([], [], Window(start, days), own=own, **fields)


def dues(items):
    return [item.due for item in items]


def later(n):
    return MONDAY + timedelta(days=n)


def test_a_chore_done_once_is_a_step_of_its_day():
    (item,) = ask(replace(FENCE, round="evening", minutes=25, people=2))
    assert (item.source, item.job, item.kind) == ("own:5/own_chore", "own:5", "step")
    assert (item.due, item.round, item.minutes, item.people) == (MONDAY, "evening", 25, 2)
    assert (item.batch, item.batches, item.age_days) == (None, (), None)


def test_a_chore_done_once_stays_on_the_list_until_it_is_done():
    (item,) = ask(FENCE)
    assert (item.until, item.open_ended) == (None, True)


def test_a_chore_done_once_is_not_in_windows_before_or_after_its_day():
    assert ask(FENCE, start=later(1)) == ask(FENCE, start=later(-30)) == ()


def test_a_repeating_chore_stays_until_its_next_day_takes_over():
    items = ask(WEEKLY, days=15)
    assert [(i.due, i.until, i.open_ended, i.kind) for i in items] == [
        (MONDAY, later(7), False, "step"),
        (later(7), later(14), False, "step"),
        (later(14), later(21), False, "step"),
    ]


def test_the_last_one_of_a_rule_stays_until_it_is_done():
    first, last = ask(replace(WEEKLY, repeat=Repeat("weekly", count=2)))
    assert (first.until, first.open_ended) == (later(7), False)
    assert (last.until, last.open_ended) == (None, True)


def test_a_day_left_out_takes_over_from_nothing():
    first, second = ask(replace(WEEKLY, exceptions=frozenset({later(7)})), days=15)
    assert (first.due, first.until) == (MONDAY, later(14))
    assert second.due == later(14)


def test_what_birds_cannot_wait_for_is_a_chore_of_its_day_and_not_carried_over():
    items = ask(GOATS, days=3)
    assert {(i.kind, i.until, i.open_ended, i.care) for i in items} == {("chore", None, False, True)}
    assert dues(items) == [later(n) for n in range(3)]


def test_what_birds_cannot_wait_for_once_is_a_step_all_the_same():
    (item,) = ask(replace(FENCE, care=True))
    assert (item.kind, item.care, item.open_ended) == ("step", True, True)


def test_chores_and_steps_asked_apart_are_each_of_their_kind():
    own = (FENCE, WEEKLY, GOATS)
    window = Window(MONDAY, 7)
    assert {i.job for i in agenda.chores([], [], window, own=own)} == {"own:6"}
    assert {i.job for i in agenda.steps([], [], window, own=own)} == {"own:5"}


def test_nothing_is_asked_from_the_day_a_chore_ended():
    ended = replace(WEEKLY, ended_on=later(10))
    assert [(i.due, i.until) for i in ask(ended)] == [(MONDAY, later(7)), (later(7), later(10))]
    assert ask(replace(FENCE, ended_on=MONDAY)) == ()


def test_a_chore_done_once_that_ended_leaves_the_list_that_day():
    (item,) = ask(replace(FENCE, ended_on=later(3)))
    assert (item.until, item.open_ended) == (later(3), False)


@pytest.mark.parametrize(
    "fields, title",
    [
        ({}, "Walk the fence"),
        ({"room": "2", "room_name": "Brooder 2"}, "Brooder 2: Walk the fence"),
        ({"room_name": "Orchard"}, "Orchard: Walk the fence"),
        ({"title": "100 % clean %(room)s", "room_name": "50 %"}, "50 %: 100 % clean %(room)s"),
        ({"title": "%s %d", "room_name": ""}, "%s %d"),
    ],
)
def test_it_is_called_as_the_keeper_called_it(fields, title):
    (item,) = ask(replace(FENCE, **fields))
    assert str(item.title) == title
    assert item.title.text.count("%") <= 2  # the keeper's words are values, never the text that is translated


def test_its_checklist_is_the_keepers_lines():
    (item,) = ask(replace(FENCE, checklist=("Posts", "Gate 50 %")))
    assert [str(line) for line in item.checklist] == ["Posts", "Gate 50 %"]


def test_it_says_how_it_repeats():
    assert {str(i.why) for i in ask(WEEKLY)} == {"Your own chore, every week on Monday"}
    assert [str(i.why) for i in ask(FENCE)] == ["Your own chore"]


def test_it_names_the_farm_itself_as_its_source():
    (item,) = ask(FENCE)
    assert is_known(item.source_key, own=True)


@pytest.mark.parametrize("asks", ["", "note", "photo"])
def test_it_asks_for_what_the_keeper_wants_with_the_tick(asks):
    (item,) = ask(replace(FENCE, asks=asks))
    assert item.asks == asks


@pytest.mark.parametrize(
    "who, needs, may",
    [
        ("child", (), "child"),
        ("child", ("lifting", "water"), "child"),
        ("child", ("dosing",), "helper"),
        ("adult", ("dosing",), "adult"),
        ("child", ("heat",), "adult"),
        ("helper", ("slaughter",), "adult"),
        ("helper", ("water",), "helper"),
    ],
)
def test_heat_slaughter_and_medicine_are_never_a_childs_whatever_was_typed(who, needs, may):
    (item,) = ask(replace(FENCE, who=who, needs=needs))
    assert (item.who, item.needs) == (may, needs)


@pytest.mark.parametrize(
    "fields, told",
    [
        ({}, ()),
        ({"who": "child"}, ("children",)),
        ({"room": "2", "room_name": "B"}, ("hygiene",)),
        ({"room": "machine:2", "room_name": "B", "who": "child"}, ("hygiene", "children")),
        ({"needs": ("heat",)}, ("heat_lamp", "cord")),
        ({"needs": ("dosing", "slaughter"), "room": "2"}, ("drugs", "slaughter", "hygiene")),
    ],
)
def test_it_carries_the_usual_cautions(fields, told):
    (item,) = ask(replace(FENCE, **fields))
    assert item.cautions == told
    assert set(told) <= set(cautions())


def test_work_with_heat_is_beside_heat_wherever_it_is():
    assert [i.heated for i in ask(replace(FENCE, needs=("heat",)), FENCE)] == [True, False]


@pytest.mark.parametrize("care", [True, False])
def test_work_in_a_brooder_is_beside_heat_while_its_birds_need_it(care):
    lamp = replace(GOATS, care=care, start=day(40), room="2", room_name="Brooder 2")
    items = agenda.agenda([REDS], [BROODED], Window(day(40), 5), own=(lamp,))
    own = [i for i in items if i.job == "own:6"]
    assert [i.heated for i in own] == [True, True, True, False, False]


def test_own_chores_stand_among_the_others_in_order():
    own = replace(GOATS, start=day(0), room="2", room_name="Brooder 2", title="Air the room")
    items = agenda.agenda([REDS], [BROODED], Window(day(0), 1), own=(own,))
    keys = [(agenda.ROUNDS.index(i.round), i.room_name, str(i.title)) for i in items]
    assert keys == sorted(keys)
    assert "own:6" in {i.job for i in items}


def test_the_other_items_do_not_change_for_own_chores():
    own = replace(GOATS, start=day(0), room="2", room_name="Brooder 2")
    window = Window(day(0), 20)
    with_own = agenda.agenda([REDS], [BROODED], window, own=(own, WEEKLY))
    assert tuple(i for i in with_own if not i.job.startswith("own:")) == agenda.agenda(
        [REDS], [BROODED], window
    )


def test_an_occurrence_stays_the_same_when_title_place_and_minutes_change():
    renamed = replace(
        WEEKLY, title="Fence", room="2", room_name="Pen", minutes=99, who="adult", checklist=("A",)
    )
    assert [i.occurrence for i in ask(renamed)] == [i.occurrence for i in ask(WEEKLY)]


def test_what_was_missed_long_ago_is_still_found():
    old = replace(FENCE, start=date(2020, 1, 1))
    yearly = replace(FENCE, key="7", start=date(2025, 9, 1), repeat=Repeat("monthly", 12))
    assert [(i.job, i.due) for i in own_chores.still_open((old, yearly), MONDAY)] == [
        ("own:5", date(2020, 1, 1)),
        ("own:7", date(2025, 9, 1)),
    ]


@pytest.mark.parametrize(
    "chore",
    [
        FENCE,  # due today itself
        GOATS,
        replace(FENCE, start=later(1)),
        replace(FENCE, start=later(-9), ended_on=later(-1)),
        replace(FENCE, start=later(-9), ended_on=MONDAY),
        replace(WEEKLY, start=later(-28)),  # its next one is due today
        replace(WEEKLY, start=later(-28), repeat=Repeat("weekly", count=2), ended_on=later(-2)),
    ],
    ids=str,
)
def test_what_is_over_or_not_yet_due_is_not_still_open(chore):
    assert list(own_chores.still_open((chore,), MONDAY)) == []


@given(begun(), st.booleans(), st.none() | st.integers(0, 900))
@settings(max_examples=100, deadline=None)
def test_of_a_rolling_chore_one_is_open_at_a_time(case, care, lasts):
    start, rule, window = case
    ended = None if lasts is None else start + timedelta(days=lasts)
    chore = replace(FENCE, start=start, repeat=rule, care=care, ended_on=ended)
    items = ask(chore, start=window.start, days=window.days)
    asked = [due for due in days(rule, start, window) if ended is None or due < ended]
    assert dues(items) == asked
    for item, following in pairwise(items):
        assert item.until == (None if care else following.due)
    assert len({item.occurrence for item in items}) == len(items)


@given(begun(), st.sets(st.integers(0, 900), max_size=20))
@settings(max_examples=100, deadline=None)
def test_still_open_is_what_a_window_from_the_start_would_show(case, left_out):
    start, rule, window = case
    today = window.start
    exceptions = frozenset(start + timedelta(days=n) for n in left_out)
    chore = replace(FENCE, start=start, repeat=rule, exceptions=exceptions)
    if today <= start:
        assert list(own_chores.still_open((chore,), today)) == []
        return
    every = own_chores.steps((chore,), Window(start, (today - start).days))
    expected = [item for item in every if item.open_ended or today < item.until]
    assert list(own_chores.still_open((chore,), today)) == expected
