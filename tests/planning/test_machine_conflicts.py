"""Egg sets that clash in their machines: every clash is found, none is invented, and each is said in words."""

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning.machines import KINDS, EggLoad, Machine, by_day, conflicts
from farm.planning.window import Window
from tests.planning.machines_world import (
    DAY0,
    HATCHERY,
    INCUBATOR,
    SETTER,
    WHOLE,
    day,
    farms,
    full,
    judged,
    load,
    phase,
)


def kinds(made, loads):
    return [found.kind for found in conflicts(made, loads)]


def told(made, loads):
    return [str(found.sentence()) for found in conflicts(made, loads)]


def spread(found):
    """Conflicts day by day, as the naive judge tells them."""
    return {
        (each.kind, each.machine, each.start + timedelta(days=n), who)
        for each in found
        for n in range((each.end - each.start).days)
        for who in [frozenset() if each.kind == "capacity" else frozenset(each.loads)]
    }


@given(farms())
@settings(max_examples=150)
def test_the_conflicts_are_those_a_judge_finds_day_by_day(farm):
    found = conflicts(*farm)
    assert spread(found) == judged(*farm, WHOLE)
    assert len(set(found)) == len(found)


@given(farms())
def test_an_overfull_run_names_whoever_is_in_it_and_its_worst_day(farm):
    made, loads = farm
    machine = {each.key: each for each in made}
    for found in conflicts(made, loads):
        if found.kind != "capacity":
            continue
        place = machine[found.machine]
        days = [found.start + timedelta(days=n) for n in range((found.end - found.start).days)]
        shares = [full(place, loads, today) for today in days]
        assert found.worst == days[shares.index(max(shares))]
        assert set(found.loads) == {
            each.key
            for each in loads
            if place.capacity[each.size] and any(phase(each, place, today) for today in days)
        }


@given(farms())
def test_taking_out_the_eggs_too_many_is_enough_and_one_fewer_is_not(farm):
    made, loads = farm
    machine = {each.key: each for each in made}
    for found in conflicts(made, loads):
        if found.kind == "capacity":
            place = machine[found.machine]
            there = [each for each in loads if phase(each, place, found.worst) and place.capacity[each.size]]
            shares = sorted(
                (Fraction(1, place.capacity[each.size]) for each in there for _ in range(each.eggs)),
                reverse=True,
            )
            over = sum(shares) - 1
            assert sum(shares[: found.eggs]) >= over > sum(shares[: found.eggs - 1])


@given(farms(), st.data())
def test_another_load_never_takes_a_conflict_away(farm, data):
    made, loads = farm
    fewer = data.draw(st.lists(st.sampled_from(loads), unique_by=id) if loads else st.just([]))
    assert spread(conflicts(made, fewer)) <= spread(conflicts(made, loads))


@given(farms(), st.data())
def test_the_order_of_machines_and_loads_changes_nothing(farm, data):
    made, loads = farm
    mixed = data.draw(st.permutations(made)), data.draw(st.permutations(loads))
    assert {(c.kind, c.machine, frozenset(c.loads), c.start, c.end, c.eggs) for c in conflicts(*mixed)} == {
        (c.kind, c.machine, frozenset(c.loads), c.start, c.end, c.eggs) for c in conflicts(made, loads)
    }


@given(farms())
def test_the_days_of_a_machine_show_what_is_in_it(farm):
    made, loads = farm
    for machine in made:
        for found in by_day(made, loads, WHOLE)[machine.key]:
            what = {phase(each, machine, found.day) for each in loads} - {None}
            assert found.share == full(machine, loads, found.day)
            assert set(found.loads) == {each.key for each in loads if phase(each, machine, found.day)}
            assert (found.state == "mixed") == (len(what) == 2)
            assert (found.state == "setting") == (what == {"turned"})
            assert (found.state == "hatching") == (what == {"hatching"})


@given(farms())
def test_every_sentence_can_be_said_and_names_its_machine(farm):
    for found in conflicts(*farm):
        assert found.kind in KINDS
        assert found.machine_name in str(found.sentence())


def test_an_incubator_is_set_then_hatches_then_is_cleaned_then_is_empty():
    states = [each.state for each in by_day([INCUBATOR], [load("1", "i")], Window(DAY0, 26))["i"]]
    assert states == ["setting"] * 18 + ["hatching"] * 5 + ["cleaning"] + ["empty"] * 2


def test_a_machine_out_of_season_says_so():
    resting = replace(INCUBATOR, in_service_from=day(2), in_service_to=day(4))
    states = [each.state for each in by_day([resting], [], Window(DAY0, 5))["i"]]
    assert states == ["out_of_service", "out_of_service", "empty", "empty", "out_of_service"]


def test_a_full_machine_has_no_conflict_and_one_egg_more_has():
    assert conflicts([SETTER, HATCHERY], [load("1", "s", "h", eggs=100)]) == ()
    assert told([SETTER, HATCHERY], [load("1", "s", "h", eggs=101)]) == [
        "Hatcher is too full by 1 egg from 19 March to 23 March, most on 19 March"
    ]


def test_thirds_of_a_machine_fill_it_exactly():
    """Shares are counted exactly: three thirds in floating point could come to more than one."""
    third = Machine("i", "Incubator", "both", {"medium": 3, "small": 9, "large": 49})
    assert conflicts([third], [load("1", "i", eggs=2), load("2", "i", eggs=3, species="quail")]) == ()
    assert conflicts([third], [load(str(n), "i", eggs=1, species="duck") for n in range(49)]) == ()


def test_eggs_hatching_beside_eggs_still_turned_are_a_conflict_in_an_incubator():
    found = conflicts([INCUBATOR], [load("1", "i"), load("2", "i", eggs=1, on=7)])
    assert [str(each.sentence()) for each in found] == [
        "Incubator: Set 1 hatches while 1 egg of Set 2 is still turned, 19 March to 23 March"
    ]


def test_with_a_hatcher_apart_sets_may_follow_each_other_weekly():
    weekly = [load(str(n), "s", "h", eggs=60, on=7 * n) for n in range(6)]
    assert conflicts([SETTER, HATCHERY], weekly) == ()


def test_a_hatcher_is_cleaned_before_the_next_eggs_come():
    made = [SETTER, replace(HATCHERY, cleaning_days=2)]
    assert told(made, [load("1", "s", "h"), load("2", "s", "h", on=5)]) == [
        "Hatcher is cleaned after Set 1 from 24 March to 25 March; 20 eggs of Set 2 come too soon"
    ]
    assert conflicts(made, [load("1", "s", "h"), load("2", "s", "h", on=7)]) == ()


def test_duck_eggs_beside_hens_eggs_need_other_humidity():
    assert kinds([INCUBATOR], [load("1", "i"), load("2", "i", eggs=5, species="duck")])[0] == "climate"


@pytest.mark.parametrize(
    "made, each, sentence",
    [
        (
            [replace(INCUBATOR, species=frozenset({"duck"}))],
            load("1", "i", eggs=1),
            "Incubator is not for Set 1: 1 egg from 1 March to 18 March",
        ),
        (
            [INCUBATOR],
            load("1", "i", species="goose"),
            "Incubator has no room for eggs of that size: 20 of Set 1, 1 March to 18 March",
        ),
        (
            [replace(INCUBATOR, in_service_from=day(2))],
            load("1", "i"),
            "Incubator is out of service from 1 March to 2 March with 20 eggs of Set 1 in it",
        ),
        (
            [HATCHERY],
            load("1", "h"),
            "Hatcher is a hatcher; 20 eggs of Set 1 cannot be set in it, 1 March to 18 March",
        ),
        (
            [SETTER],
            load("1", "s"),
            "Setter is a setter; 20 eggs of Set 1 cannot hatch in it, 19 March to 23 March",
        ),
    ],
)
def test_a_machine_that_cannot_take_the_eggs_says_why(made, each, sentence):
    assert told(made, [each])[0] == sentence


def test_a_load_in_a_machine_nobody_has_is_refused():
    with pytest.raises(ValueError, match="not given"):
        conflicts([INCUBATOR], [load("1", "i", "elsewhere")])


def test_two_machines_or_loads_of_one_key_are_refused():
    with pytest.raises(ValueError, match="two machines"):
        conflicts([INCUBATOR, INCUBATOR], [])
    with pytest.raises(ValueError, match="two egg loads"):
        conflicts([INCUBATOR], [load("1", "i"), load("1", "i")])


@pytest.mark.parametrize("days", [(3, 3, 5), (3, 2, 5), (1, 5, 4)])
def test_a_load_whose_days_do_not_follow_one_another_is_refused(days):
    with pytest.raises(ValueError, match="follow one another"):
        EggLoad("1", "Set 1", "chicken", "medium", 1, "i", "i", *map(day, days))


def test_a_load_of_no_eggs_is_refused():
    with pytest.raises(ValueError, match="at least one egg"):
        load("1", "i", eggs=0)
