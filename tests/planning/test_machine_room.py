"""How many more eggs fit: so many add no conflict, and one more does."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning.machines import EggLoad, Room, conflicts, room
from tests.planning.machines_world import HATCHERY, INCUBATOR, SETTER, SIZE, day, farms, load


def days(on, turned=18, locked=3):
    return day(on), day(on + turned), day(on + turned + locked)


@given(
    farms(),
    st.sampled_from(sorted(SIZE)),
    st.builds(days, st.integers(0, 50), st.integers(1, 12), st.integers(0, 4)),
)
@settings(max_examples=150)
def test_the_room_told_adds_no_conflict_and_one_egg_more_does(farm, species, when):
    made, loads = farm
    told = {(found.setter, found.hatcher): found.eggs for found in room(made, loads, species, *when)}

    def clashes(setter, hatcher, eggs):
        one = EggLoad("new", "New", species, SIZE[species], eggs, setter, hatcher, *when)
        return any("new" in found.loads for found in conflicts(made, [*loads, one]))

    for setter in made:
        for hatcher in made:
            most = told.get((setter.key, hatcher.key), 0)
            assert not most or not clashes(setter.key, hatcher.key, most)
            assert clashes(setter.key, hatcher.key, most + 1)


@given(farms(), st.sampled_from(sorted(SIZE)))
def test_most_room_comes_first_and_none_is_not_told(farm, species):
    eggs = [found.eggs for found in room(*farm, species, *days(10))]
    assert eggs == sorted(eggs, reverse=True)
    assert all(eggs)


def test_an_empty_incubator_takes_as_many_as_it_holds():
    assert room([INCUBATOR], [], "chicken", *days(0)) == (Room("i", "i", 50),)
    assert room([INCUBATOR], [], "goose", *days(0)) == ()


def test_eggs_of_another_size_take_their_part():
    third = [load("1", "i", eggs=40, species="quail")]
    assert room([INCUBATOR], third, "chicken", *days(0)) == (Room("i", "i", 33),)


def test_the_hatcher_is_the_narrow_place_of_a_big_setter():
    assert room([SETTER, HATCHERY], [], "chicken", *days(0)) == (Room("s", "h", 100),)


def test_a_hatcher_filled_for_that_week_leaves_the_next_one_free():
    made, full = [SETTER, HATCHERY], [load("1", "s", "h", eggs=100)]
    assert room(made, full, "chicken", *days(0)) == ()
    assert room(made, full, "chicken", *days(7)) == (Room("s", "h", 100),)


def test_eggs_that_come_the_day_others_leave_the_setter_take_none_of_their_room():
    made = [replace(SETTER, capacity={"medium": 100}), HATCHERY]
    for on in (18, -18):
        assert room(made, [load("1", "s", "h", eggs=100, on=on)], "chicken", *days(0)) == (
            Room("s", "h", 100),
        )


@pytest.mark.parametrize("on, free", [(-6, True), (-5, False), (5, False), (6, True)])
def test_the_hatcher_has_no_room_on_the_day_it_is_cleaned_for_or_after_another_hatch(on, free):
    made = [SETTER, HATCHERY]
    assert bool(room(made, [load("1", "s", "h")], "chicken", *days(on))) is free


def test_of_equal_room_the_machine_that_does_both_comes_first():
    made = [INCUBATOR, SETTER, replace(HATCHERY, capacity={"medium": 50})]
    assert [(each.setter, each.hatcher) for each in room(made, [], "chicken", *days(0))] == [
        ("i", "i"),
        ("i", "h"),
        ("s", "h"),
        ("s", "i"),
    ]


def test_no_room_is_guessed_for_an_unknown_bird():
    with pytest.raises(KeyError):
        room([INCUBATOR], [], "dodo", *days(0))
