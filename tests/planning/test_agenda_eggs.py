"""What eggs in a machine ask for: the steps of a set, and the chores of the machines."""

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm import wording
from farm.planning import agenda
from farm.planning.window import Window
from farm.trade.chores import chores as chore_table
from farm.trade.load import programmes
from tests.planning.agenda_world import BROODED, HATCH, REDS, jobs

SET = date(2026, 3, 1)
INCUBATOR = agenda.AgendaMachine("1", "Incubator")
SETTER = agenda.AgendaMachine("2", "Setter", turns_itself=True)
HATCHERY = agenda.AgendaMachine("3", "Hatcher", air="still")
HENS = agenda.AgendaEggSet(
    "4", "9", "Spring eggs", "chicken", programmes()["chicken_dual"], 60, INCUBATOR, INCUBATOR, SET
)
MOVED = replace(HENS, setter=SETTER, hatcher=HATCHERY)
WHOLE = Window(SET - timedelta(days=20), 150)


def on(after):
    return SET + timedelta(days=after)


def ask(*egg_sets, window=WHOLE):
    return agenda.agenda([], [], window, egg_sets=egg_sets)


def dated(items):
    return {
        item.source.removeprefix("eggs:4/"): (item.due, item.until) for item in items if item.kind == "step"
    }


@st.composite
def egg_sets(draw):
    """Up to five sets of any species in four machines; crowding and early ends are allowed."""
    machines = [
        agenda.AgendaMachine(
            str(key), f"M{key}", draw(st.sampled_from(["forced", "still"])), draw(st.booleans())
        )
        for key in range(4)
    ]
    made = []
    for key in range(draw(st.integers(0, 5))):
        programme = draw(st.sampled_from(list(programmes().values())))
        set_on = on(draw(st.integers(-10, 40)))
        ends = draw(st.none() | st.integers(0, 45))
        made.append(
            agenda.AgendaEggSet(
                str(key),
                draw(st.none() | st.just(str(70 + key))),
                f"set {key}",
                programme.species,
                programme,
                draw(st.integers(1, 300)),
                draw(st.sampled_from(machines)),
                draw(st.sampled_from(machines)),
                set_on,
                None if ends is None else set_on + timedelta(days=ends),
            )
        )
    return made


def test_the_steps_of_hens_eggs_fall_on_their_days():
    assert dated(ask(HENS)) == {
        "set_eggs": (SET, None),
        "candle/7": (on(7), None),
        "candle/14": (on(14), None),
        "candle/18": (on(18), None),
        "lockdown": (on(18), None),
        "hatch": (on(20), on(23)),
        "hatch_out": (on(21), on(24)),
        "machine:1/clean_machine": (on(23), None),
    }


def test_eggs_that_stay_in_one_machine_stop_being_turned_there():
    (lockdown,) = jobs(ask(HENS), "lockdown")
    assert str(lockdown.title) == "Incubator: turning of Spring eggs stops, humidity up"
    assert lockdown.room == "machine:1"


def test_eggs_with_a_hatcher_apart_move_to_it():
    (lockdown,) = jobs(ask(MOVED), "lockdown")
    assert str(lockdown.title) == "Hatcher: move in Spring eggs from Setter"
    assert lockdown.room == "machine:3"
    assert [item.room for item in jobs(ask(MOVED), "hatch_out") + jobs(ask(MOVED), "clean_machine")] == [
        "machine:3",
        "machine:3",
    ]


def test_the_last_candling_comes_in_the_round_in_which_the_eggs_are_moved():
    *_, last = jobs(ask(HENS), "candle")
    (lockdown,) = jobs(ask(HENS), "lockdown")
    assert (last.due, last.round) == (lockdown.due, lockdown.round)


def test_only_the_candling_in_between_may_be_left_out():
    told = [("may be left out" in str(item.why)) for item in jobs(ask(HENS), "candle")]
    assert told == [False, True, False]


def test_minutes_grow_with_the_eggs():
    few, many = (jobs(ask(replace(HENS, eggs=n)), "candle")[0].minutes for n in (50, 51))
    assert (few, many) == (40, 60)


def test_eggs_are_turned_by_hand_three_times_a_day_from_day_two_until_lockdown():
    turned = Counter(item.due for item in jobs(ask(HENS), "turn_eggs"))
    assert turned == {on(after): 3 for after in range(2, 18)}


def test_a_machine_that_turns_by_itself_asks_nobody_to():
    assert jobs(ask(MOVED), "turn_eggs") == []


def test_a_machine_is_checked_twice_a_day_and_watered_once_while_it_holds_eggs():
    items = ask(MOVED)
    assert Counter(item.room for item in jobs(items, "check_machine")) == {"machine:2": 36, "machine:3": 10}
    assert Counter(item.room for item in jobs(items, "refill_water")) == {"machine:2": 18, "machine:3": 5}


@pytest.mark.parametrize(
    "system, title, line",
    [
        ("metric", "Incubator: check for 37.8 °C and 58 % humidity", "Between 37.5 and 38.1 °C"),
        ("us", "Incubator: check for 100.0 °F and 58 % humidity", "Between 99.5 and 100.6 °F"),
    ],
)
def test_the_check_says_what_to_see_in_the_farms_units(system, title, line):
    check = jobs(ask(HENS), "check_machine")[0]
    assert wording.say(check.title, system) == title
    assert line in [wording.say(each, system) for each in check.checklist]


def test_still_air_is_read_where_the_eggs_are():
    check = next(item for item in jobs(ask(MOVED), "check_machine") if item.room == "machine:3")
    assert str(check.title) == "Hatcher: check for 38.3 °C and 66 % humidity"
    assert "Between 38.0 and 38.6 °C at the height of the egg tops" in map(str, check.checklist)


def test_the_check_follows_the_eggs_that_hatch_when_others_are_beside_them():
    later = replace(HENS, key="5", name="Next eggs", set_on=on(7))
    titles = {item.due: str(item.title) for item in jobs(ask(HENS, later), "check_machine")}
    assert "58 %" in titles[on(17)]
    assert "66 %" in titles[on(18)]
    assert "58 %" in titles[on(24)]


def test_one_chore_serves_all_sets_in_a_machine():
    ducks = agenda.AgendaEggSet(
        "5", "10", "Ducks", "duck", programmes()["duck"], 30, INCUBATOR, HATCHERY, SET
    )
    first = jobs(ask(HENS, ducks), "check_machine")[0]
    assert first.batches == ("9", "10")
    lines = [str(line) for line in first.checklist if "Humidity" in str(line)]
    assert [line[:30] for line in lines] == [
        "Humidity between 53 and 63 %, ",
        "Humidity between 58 and 68 %, ",
    ]
    assert Counter(i.occurrence for i in ask(HENS, ducks)).most_common(1)[0][1] == 1


def test_the_hatch_stays_open_until_it_is_recorded():
    assert [item.source for item in ask(HENS) if item.open_ended] == ["eggs:4/hatch"]
    recorded = ask(replace(HENS, ended_on=on(21)))
    assert [item for item in recorded if item.open_ended] == []
    assert dated(recorded)["hatch"] == (on(20), on(21))


def test_a_hatch_recorded_on_its_first_day_still_had_that_day():
    assert dated(ask(replace(HENS, ended_on=on(20))))["hatch"] == (on(20), on(21))


def test_after_the_hatch_is_recorded_only_the_cleaning_is_left():
    late = [item for item in ask(replace(HENS, ended_on=on(21))) if item.due > on(21)]
    assert [item.job for item in late] == ["clean_machine"]
    assert not [i for i in ask(replace(HENS, ended_on=on(21))) if i.kind == "chore" and i.due >= on(21)]


def test_a_set_cancelled_while_it_was_turned_leaves_nothing_to_do():
    cancelled = ask(replace(HENS, ended_on=on(10)))
    assert max(item.due for item in cancelled) < on(10)
    assert jobs(cancelled, "clean_machine") == []


def test_hatches_that_leave_a_machine_together_are_cleaned_up_after_once():
    twin = replace(HENS, key="5", batch="10", name="Other eggs")
    (cleaning,) = jobs(ask(HENS, twin), "clean_machine")
    assert str(cleaning.title) == "Incubator: clean up after Other eggs, Spring eggs"
    assert cleaning.batches == ("9", "10")


def test_a_machine_with_eggs_still_in_it_is_not_cleaned_out():
    later = replace(MOVED, key="5", name="Next eggs", set_on=on(2))
    assert [item.due for item in jobs(ask(MOVED, later), "clean_machine")] == [on(25)]


def test_a_machine_is_cleaned_before_the_eggs_that_come_that_day():
    later = replace(HENS, key="5", name="Next eggs", set_on=on(23))
    assert [item.due for item in jobs(ask(HENS, later), "clean_machine")] == [on(23), on(46)]


def test_cleaning_with_disinfectant_is_for_adults():
    (cleaning,) = jobs(ask(HENS), "clean_machine")
    assert cleaning.who == "adult"


def test_eggs_without_a_batch_belong_to_none():
    assert {item.batches for item in ask(replace(HENS, batch=None))} == {()}


def test_eggs_ask_for_their_work_whatever_jobs_a_programme_lists():
    bare = replace(HENS, programme=replace(HENS.programme, jobs=("feed_water",)))
    assert dated(ask(bare)) == dated(ask(HENS))


def test_a_farm_without_eggs_is_asked_nothing_about_them():
    birds = agenda.agenda([REDS], [BROODED], Window(HATCH, 60))
    eggs = {key for key, chore in chore_table().items() if chore.condition == "eggs"}
    assert len(eggs) == 9
    assert not eggs & {item.job for item in birds}


def test_steps_and_chores_are_the_two_halves_of_the_agenda():
    halves = agenda.steps([], [], WHOLE, egg_sets=[HENS]) + agenda.chores([], [], WHOLE, egg_sets=[HENS])
    assert Counter(i.occurrence for i in halves) == Counter(i.occurrence for i in ask(HENS))


def test_eggs_change_nothing_for_the_birds():
    window = Window(HATCH, 60)
    near = replace(HENS, set_on=HATCH)
    both = agenda.agenda([REDS], [BROODED], window, egg_sets=[near])
    assert tuple(i for i in both if not (i.room or "").startswith("machine:")) == agenda.agenda(
        [REDS], [BROODED], window
    )


@given(egg_sets())
@settings(max_examples=40)
def test_no_two_items_of_eggs_are_the_same_occurrence(made):
    counted = Counter(item.occurrence for item in ask(*made))
    assert [found for found, times in counted.items() if times > 1] == []


@given(egg_sets(), st.integers(1, 149))
@settings(max_examples=40)
def test_a_window_of_eggs_says_what_its_two_parts_say(made, at):
    first, second = Window(WHOLE.start, at), Window(WHOLE.day(at), WHOLE.days - at)
    assert ask(*made) == ask(*made, window=first) + ask(*made, window=second)


@given(egg_sets(), st.data())
@settings(max_examples=40)
def test_the_order_of_egg_sets_changes_nothing(made, data):
    assert ask(*data.draw(st.permutations(made))) == ask(*made)


@given(egg_sets())
@settings(max_examples=40)
def test_occurrences_of_eggs_stay_the_same_when_names_and_numbers_change(made):
    other = [replace(eggs, name=f"other {eggs.name}", eggs=eggs.eggs * 3) for eggs in made]
    assert {item.occurrence for item in ask(*other)} == {item.occurrence for item in ask(*made)}


@given(egg_sets())
@settings(max_examples=40)
def test_eggs_are_never_turned_in_their_last_three_days_nor_after(made):
    alone = [eggs for eggs in made if not eggs.setter.turns_itself][:1]
    for eggs in alone:
        for item in jobs(ask(eggs), "turn_eggs"):
            assert eggs.days.hatch_day - item.due > timedelta(days=3)
            assert eggs.ended_on is None or item.due < eggs.ended_on


@given(egg_sets())
@settings(max_examples=40)
def test_every_window_of_eggs_ends_after_it_opens_and_every_line_can_be_said(made):
    for item in ask(*made):
        assert item.until is None or item.until > item.due
        assert all(wording.say(text, "us") for text in (item.title, item.why, *item.checklist))
